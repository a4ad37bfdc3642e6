from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.ranges import Range
from register.plant import sketch
from register.plant.values import Alarm, Loop
from register.plant.words import AlarmKind, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import quantity

ABSOLUTE = (AlarmKind.LOW_LOW, AlarmKind.LOW, AlarmKind.HIGH, AlarmKind.HIGH_HIGH)
DEVIATION = (AlarmKind.DEVIATION_LOW, AlarmKind.DEVIATION_HIGH, AlarmKind.DEVIATION_BAND)


@rule(
    "alarm-outside-range",
    severity=Severity.WARNING,
    source="ISA-18.2: every alarm can occur and be acted on",
    wrong=sketch.with_alarm(
        sketch.temperature_loop(range_="0-250 degC"), "TIC-101", "Alarm 1", set_point=sketch.number(280)
    ),
    right=sketch.with_alarm(
        sketch.temperature_loop(range_="0-250 degC"), "TIC-101", "Alarm 1", set_point=sketch.number(230)
    ),
)
def alarm_outside_range(loop: Loop) -> Iterator[Finding]:
    """An alarm can be reached: an absolute one lies strictly inside the range, a deviation one within its span.

    Why: an alarm that the measured value can never reach can never sound.

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
                yield finding(
                    tag,
                    "{alarm} ({kind}) is set to {set_point}, the range is {range}",
                    place=alarm.name,
                    alarm=alarm.name,
                    kind=alarm.kind,
                    set_point=quantity(alarm.set_point, tag.range),
                    range=tag.range,
                )


def reachable(alarm: Alarm, set_point: Decimal, measured: Range) -> bool:
    if alarm.kind in DEVIATION:
        return 0 < abs(set_point) < measured.span
    return measured.low < set_point < measured.high
