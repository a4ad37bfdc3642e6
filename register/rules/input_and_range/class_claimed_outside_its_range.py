from __future__ import annotations

from collections.abc import Iterator

from register.calc import rtd, thermocouples
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded
from register.rules.reading import read_range, sensors_read
from register.rules.temperatures import in_celsius


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

    A couple whose class begins well above 0 °C, as type B's does, is not asked about the cold end of its range.

    Why: an accuracy budget rests on a figure that does not exist.

    Remedy: claim the next wider class, calibrate the sensor individually, or narrow the range.
    """
    for one in sensors_read(loop):
        model, measured = one.source_tag.model, read_range(one)
        if model is None or not model.tolerance_class or measured is None or measured.dimension != "temperature":
            continue
        try:
            low_c, high_c = class_range_c(one.source.signal, model.tolerance_class, model.construction)
        except CalculationError:
            continue  # a class of another standard
        begins, ends = in_celsius(measured.low, measured), in_celsius(measured.high, measured)
        if (begins < low_c - 1e-6 and low_c <= 0) or ends > high_c + 1e-6:
            yield finding(
                one.source_tag,
                "class {name}{construction} holds from {low} to {high} °C; the range is {range}",
                name=model.tolerance_class,
                construction=f" ({model.construction})" if model.construction else "",
                low=rounded(low_c),
                high=rounded(high_c),
                range=measured,
            )


def class_range_c(signal: str, name: str, construction: str) -> tuple[float, float]:
    """Range in °C of a class. Raises CalculationError where there is no such class."""
    if signal.startswith("tc-"):
        ranges = thermocouples.tolerance_ranges(signal[3:], name)
        if not ranges:
            raise CalculationError(f"no class {name}")
        return min(one.t_min_c for one in ranges), max(one.t_max_c for one in ranges)
    of = rtd.tolerance_class(name, construction or "wire wound")
    return of.t_min_c, of.t_max_c
