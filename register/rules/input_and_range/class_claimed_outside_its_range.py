from __future__ import annotations

from collections.abc import Iterator

from register.calc import rtd, thermocouples
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded


@rule(
    "class-claimed-outside-its-range",
    severity=Severity.WARNING,
    source="IEC 60751:2008, tables 2 and 3; IEC 60584-1:2013",
    wrong=sketch.with_model(
        sketch.temperature_loop(range_="0-400 degC"), "TE-101", construction="film", tolerance_class="A"
    ),
    right=sketch.temperature_loop(range_="0-400 degC"),
)
def class_claimed_outside_its_range(loop: Loop) -> Iterator[Finding]:
    """A tolerance class is claimed only inside the range for which the standard defines it.

    Why: an accuracy budget rests on a figure that does not exist.

    Remedy: claim the next wider class, calibrate the sensor individually, or narrow the range.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        model, measured = one.source_tag.model, one.target_tag.range
        if one.source_tag.role != Role.SENSOR or model is None or not model.tolerance_class or measured is None:
            continue
        if measured.dimension != "temperature":
            continue
        there = measured.to("CEL")
        try:
            low, high = class_range(one.source.signal, model.tolerance_class, model.construction)
        except CalculationError:
            continue
        if float(there.low) < low or float(there.high) > high:
            yield finding(
                one.source_tag,
                "class {name}{construction} holds from {low} to {high} °C; the range is {range}",
                name=model.tolerance_class,
                construction=f" ({model.construction})" if model.construction else "",
                low=rounded(low),
                high=rounded(high),
                range=measured,
            )


def class_range(signal: str, name: str, construction: str) -> tuple[float, float]:
    """Range in °C of a class. Raises CalculationError where there is no such class."""
    if signal.startswith("tc-"):
        ranges = thermocouples.tolerance_ranges(signal[3:], name)
        if not ranges:
            raise CalculationError(f"no class {name}")
        return min(one.t_min_c for one in ranges), max(one.t_max_c for one in ranges)
    of = rtd.tolerance_class(name, construction or "wire wound")
    return of.t_min_c, of.t_max_c
