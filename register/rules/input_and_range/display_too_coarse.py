from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.ranges import display_resolution
from register.calc.units import convert_difference
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import difference


@rule(
    "display-too-coarse",
    severity=Severity.ADVICE,
    source="common practice, no source",
    tolerance=("1", "% of span"),
    wrong=sketch.with_settings(sketch.temperature_loop(range_="0-50 degC"), "TIC-101", decimals=0),
    right=sketch.temperature_loop(range_="0-50 degC"),
)
def display_too_coarse(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """The last digit that a display shows is worth no more than the loop's accuracy, nor than 1 % of its span.

    Why: nobody can read, set or check what the loop must hold.

    Remedy: set more decimals, where the display has the digits, or a unit in which the numbers are larger.
    """
    for tag in loop.tags:
        settings = tag.settings
        if settings is None or settings.range is None or settings.decimals is None:
            continue
        step, measured = display_resolution(settings.decimals), settings.range
        allowed, why = measured.span * tolerance / 100, f"{tolerance:f} % of its span"
        required = loop.required_accuracy
        if required is not None and loop.range is not None and loop.range.dimension == measured.dimension:
            required = convert_difference(required, loop.range.unit, measured.unit)
            if required < allowed:
                allowed, why = required, "the accuracy that is required"
        if step > allowed:
            yield finding(
                tag,
                "its display steps by {step}; {why} is {allowed}",
                step=difference(step, measured),
                why=why,
                allowed=difference(allowed, measured),
            )
