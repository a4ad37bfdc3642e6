"""The ITS-90 values of a calibration sheet, beside general-purpose libraries that give the same."""

from __future__ import annotations

from collections.abc import Iterator

from register.bench.comparison import Comparison
from register.calc import rtd, thermocouples
from register.calc.calibration import FIVE_POINTS, expected_at
from register.calc.ranges import parse_range
from register.calc.signals import SIGNALS

TERMINALS_C = 23.0


def comparisons() -> Iterator[Comparison]:
    """Loops checked at five points: what to inject, and what the readings mean."""
    yield from _type_k()
    yield from _pt100()


def _type_k() -> Iterator[Comparison]:
    """0 to 1000 °C."""
    from thermocouple_its90 import TypeK  # a test requirement

    measured, signal = parse_range("0-1000 degC"), SIGNALS["tc-K"]
    temperatures = [percent * 10 for percent in FIVE_POINTS]
    emfs = [thermocouples.emf("K", t_c, TERMINALS_C) for t_c in temperatures]
    size = "5 points, terminals at 23 °C"
    yield Comparison(
        "the sheet's table, from the range in per cent to what to inject",
        size,
        "thermocouple-its90, TypeK.emf of temperatures already known",
        lambda: [expected_at(percent, measured, signal, reference_c=TERMINALS_C).electrical for percent in FIVE_POINTS],
        lambda: [TypeK.emf(t_c, TERMINALS_C) for t_c in temperatures],
    )
    yield Comparison(
        "emf of each temperature",
        size,
        "thermocouple-its90, TypeK.emf",
        lambda: [thermocouples.emf("K", t_c, TERMINALS_C) for t_c in temperatures],
        lambda: [TypeK.emf(t_c, TERMINALS_C) for t_c in temperatures],
    )
    yield Comparison(
        "temperature of each emf",
        size,
        "thermocouple-its90, TypeK.temperature",
        lambda: [thermocouples.temperature("K", emf, TERMINALS_C) for emf in emfs],
        lambda: [TypeK.temperature(emf, reference=TERMINALS_C) for emf in emfs],
    )


def _pt100() -> Iterator[Comparison]:
    """0 to 250 °C."""
    from rtd_sensor import pt100  # a test requirement

    temperatures = [percent * 2.5 for percent in FIVE_POINTS]
    resistances = [rtd.resistance(t_c) for t_c in temperatures]
    yield Comparison(
        "resistance of each temperature of a Pt100",
        "5 points",
        "rtd-sensor, pt100.celsius_to_resistance",
        lambda: [rtd.resistance(t_c) for t_c in temperatures],
        lambda: [pt100.celsius_to_resistance(t_c) for t_c in temperatures],
    )
    yield Comparison(
        "temperature of each resistance of a Pt100",
        "5 points",
        "rtd-sensor, pt100.resistance_to_celsius",
        lambda: [rtd.temperature(ohm) for ohm in resistances],
        lambda: [pt100.resistance_to_celsius(ohm) for ohm in resistances],
    )
