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
    "range-beyond-sensor",
    severity=Severity.ERROR,
    source="IEC 60584-1:2013 and IEC 60751:2008 class ranges; the sensor's data sheet",
    wrong=sketch.with_model(
        sketch.thermocouple_loop(couple="tc-T", input_signal="tc-T", range_="0-600 degC"),
        "TE-301",
        range_limits=None,
        tolerance_class="",
    ),
    right=sketch.thermocouple_loop(range_="0-800 degC"),
)
def range_beyond_sensor(loop: Loop) -> Iterator[Finding]:
    """The range lies inside what the sensor stands.

    The data sheet's limits count; without them, the top of a couple's widest tolerance class, since its reference
    function reaches further than its useful life does, and the bottom of its function or curve.

    Why: the sensor burns out or drifts, and may be the only protection.

    Remedy: fit a sensor that stands the range, or narrow the range.
    """
    for one in sensors_read(loop):
        measured = read_range(one)
        if measured is None or measured.dimension != "temperature":
            continue
        limits = one.source_tag.model.range_limits if one.source_tag.model else None
        if limits is not None and limits.dimension == "temperature":
            low_c, high_c = in_celsius(limits.low, limits), in_celsius(limits.high, limits)
            whose = f"{one.source_tag.model} stands"
        else:
            try:
                low_c, high_c = useful_c(one.source.signal)
            except CalculationError:
                continue  # a sensor whose function the register does not know
            whose = "such a sensor is good for"
        if in_celsius(measured.low, measured) < low_c - 1e-6 or in_celsius(measured.high, measured) > high_c + 1e-6:
            yield finding(
                one.source_tag,
                "{target} works to {range}; {whose} {low} to {high} °C",
                target=one.target_tag.name,
                range=measured,
                whose=whose,
                low=rounded(low_c),
                high=rounded(high_c),
            )


def useful_c(signal: str) -> tuple[float, float]:
    """Where a type of sensor may work. Raises CalculationError."""
    if signal.startswith("tc-"):
        return thermocouples.couple(signal[3:]).t_min_c, thermocouples.useful_range_c(signal[3:])[1]
    curve = rtd.element(signal).curve
    return curve.t_min_c, curve.t_max_c
