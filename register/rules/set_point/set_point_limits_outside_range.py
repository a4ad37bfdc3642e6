from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import quantity


@rule(
    "set-point-limits-outside-range",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.with_settings(
        sketch.temperature_loop(range_="0-400 degC"), "TIC-101", set_point_high=sketch.number(450)
    ),
    right=sketch.with_settings(
        sketch.temperature_loop(range_="0-400 degC"),
        "TIC-101",
        set_point_low=sketch.number(20),
        set_point_high=sketch.number(350),
    ),
)
def set_point_limits_outside_range(loop: Loop) -> Iterator[Finding]:
    """Set-point limits lie inside the range, in the right order, and the set point lies between them.

    Why: a set point that can never be reached winds the integral up.

    Remedy: set the limits inside the range, the lower below the upper, and the set point between them.
    """
    for tag in loop.controllers:
        settings = tag.settings
        if settings is None:
            continue
        low, high = settings.set_point_low, settings.set_point_high
        given = [("lower set-point limit", low), ("upper set-point limit", high), ("set point", settings.set_point)]
        if all(value is None for _, value in given):
            continue
        if settings.range is None:
            yield unknown(tag, "it has set-point limits, but its range is not recorded")
            continue
        for what, value in given:
            if value is not None and not settings.range.contains(value):
                yield finding(
                    tag,
                    "the {what} is {value}, the range is {range}",
                    place=what,
                    what=what,
                    value=quantity(value, settings.range),
                    range=settings.range,
                )
        if low is not None and high is not None and low >= high:
            yield finding(
                tag,
                "the lower set-point limit {low} is not below the upper {high}",
                place="order of the limits",
                low=quantity(low, settings.range),
                high=quantity(high, settings.range),
            )
        elif settings.set_point is not None and (
            (low is not None and settings.set_point < low) or (high is not None and settings.set_point > high)
        ):
            yield finding(
                tag,
                "the set point {value} lies outside its limits {low} to {high}",
                place="set point",
                value=quantity(settings.set_point, settings.range),
                low="—" if low is None else quantity(low, settings.range),
                high="—" if high is None else quantity(high, settings.range),
            )
