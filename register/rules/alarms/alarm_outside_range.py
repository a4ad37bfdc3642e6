from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.ranges import Range
from register.calc.signals import SIGNALS, electrical_at
from register.plant import sketch
from register.plant.values import Alarm, Loop, Tag
from register.plant.words import AlarmKind, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import quantity, rounded
from register.rules.reading import measuring_input

ABSOLUTE = (AlarmKind.LOW_LOW, AlarmKind.LOW, AlarmKind.HIGH, AlarmKind.HIGH_HIGH)
DEVIATION = (AlarmKind.DEVIATION_LOW, AlarmKind.DEVIATION_HIGH, AlarmKind.DEVIATION_BAND)


@rule(
    "alarm-outside-range",
    severity=Severity.WARNING,
    source="ISA-18.2: every alarm can occur and be acted on; NAMUR NE 43",
    wrong=sketch.with_alarm(
        sketch.temperature_loop(range_="0-250 degC"), "TIC-101", "Alarm 1", set_point=sketch.number(280)
    ),
    right=sketch.with_alarm(
        sketch.temperature_loop(range_="0-250 degC"), "TIC-101", "Alarm 1", set_point=sketch.number(230)
    ),
)
def alarm_outside_range(loop: Loop) -> Iterator[Finding]:
    """An alarm can be reached: an absolute one lies strictly inside the range, a deviation one within its span.

    A 4–20 mA sender goes a little past its range, to 3.8 and 20.5 mA; beyond that it only says that it has failed.

    Why: an alarm that the measured value can never reach can never sound, or sounds with every fault of the sensor.

    Remedy: set the alarm inside the range, or widen the range.
    """
    for tag in loop.tags:
        for alarm in tag.alarms:
            if alarm.kind not in (*ABSOLUTE, *DEVIATION):
                continue
            if alarm.set_point is None:
                yield unknown(tag, "the set point of {alarm} is not recorded", place=alarm.name, alarm=alarm.name)
            elif tag.range is None:
                yield unknown(tag, "it has {alarm}, but its range is not recorded", place=alarm.name, alarm=alarm.name)
            elif not reachable(alarm, alarm.set_point, tag.range):
                current = current_at(tag, alarm)
                yield finding(
                    tag,
                    "{alarm} ({kind}) is set to {set_point}, the range is {range}"
                    + (": {percent} % of it, {current} mA" if current is not None else ""),
                    place=alarm.name,
                    alarm=alarm.name,
                    kind=alarm.kind,
                    set_point=quantity(alarm.set_point, tag.range),
                    range=tag.range,
                    **(
                        {}
                        if current is None
                        else {
                            "percent": rounded(round(tag.range.percent(alarm.set_point), 1)),
                            "current": rounded(round(current, 1)),
                        }
                    ),
                )


def reachable(alarm: Alarm, set_point: Decimal, measured: Range) -> bool:
    if alarm.kind in DEVIATION:
        return 0 < abs(set_point) < measured.span
    return measured.low < set_point < measured.high


def current_at(tag: Tag, alarm: Alarm) -> float | None:
    """The current that the alarm needs, where a live-zero current is read."""
    port = measuring_input(tag)
    if alarm.kind not in ABSOLUTE or port is None or port.signal != "4-20mA":
        return None
    return electrical_at(float(tag.range.percent(alarm.set_point)) / 100, SIGNALS["4-20mA"])
