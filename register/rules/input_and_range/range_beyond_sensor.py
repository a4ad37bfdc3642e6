from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc import thermocouples
from register.calc.ranges import Range
from register.plant import sketch
from register.plant.values import Loop, Tag
from register.plant.words import Role, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "range-beyond-sensor",
    severity=Severity.ERROR,
    source="IEC 60584-1:2013 and IEC 60751:2008 class ranges; the sensor's data sheet",
    wrong=sketch.with_model(
        sketch.thermocouple_loop(couple="tc-T", input_signal="tc-T", range_="0-600 degC"), "TE-301", range_limits=None
    ),
    right=sketch.thermocouple_loop(),
)
def range_beyond_sensor(loop: Loop) -> Iterator[Finding]:
    """The range lies inside what the sensor stands.

    The data sheet's limits count; without them, those of a couple's widest tolerance class: its reference function
    reaches further than its useful life does.

    Why: the sensor burns out or drifts, and may be the only protection.

    Remedy: fit a sensor that stands the range, or narrow the range.
    """
    for one in loop.connections():
        measured = one.target_tag.range
        if one.source_tag.role != Role.SENSOR or measured is None:
            continue
        limits, whose = limits_of(one.source_tag, one.source.signal)
        if limits is None or not limits.comparable(measured):
            continue
        there = measured.in_unit_of(limits)
        if not (limits.low <= there.low and there.high <= limits.high):
            yield finding(
                one.source_tag,
                "{target} works to {range}; {whose} {limits}",
                target=one.target_tag.name,
                range=measured,
                whose=whose,
                limits=limits,
            )


def limits_of(sensor: Tag, signal: str) -> tuple[Range | None, str]:
    """Where a sensor may work, and whose word that is."""
    if sensor.model and sensor.model.range_limits:
        return sensor.model.range_limits, f"{sensor.model} stands"
    if signal.startswith("tc-"):
        low, high = thermocouples.useful_range_c(signal[3:])
        return Range(Decimal(str(low)), Decimal(str(high)), "CEL"), f"type {signal[3:]} is good for"
    return None, ""
