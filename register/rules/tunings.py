"""Tuning as recorded, brought to one form: gain and times in seconds of the ideal form."""

from __future__ import annotations

import math

from register.calc.control import Tuning, gain_of_band, ideal_to_series, integral_time_s, series_to_ideal
from register.calc.errors import CalculationError
from register.plant.values import Settings
from register.plant.words import PidForm, ProportionalAs, TimeUnit

SECONDS = {TimeUnit.SECONDS: 1, TimeUnit.MINUTES: 60}


def integral_s(settings: Settings | None) -> float | None:
    """Integral time in seconds; None where there is none, or its unit is not recorded."""
    if settings is None or settings.integral is None or settings.integral <= 0 or settings.time_unit is None:
        return None
    if settings.time_unit == TimeUnit.REPEATS_PER_MINUTE:
        return integral_time_s(float(settings.integral))
    return float(settings.integral) * SECONDS[settings.time_unit]


def derivative_s(settings: Settings) -> float | None:
    """Derivative time in seconds; with repeats, it is typed in minutes."""
    if settings.derivative is None or settings.derivative < 0 or settings.time_unit is None:
        return None
    return float(settings.derivative) * SECONDS.get(settings.time_unit, 60)


def gain(settings: Settings) -> float | None:
    if settings.proportional is None or settings.proportional <= 0 or settings.proportional_as is None:
        return None
    value = float(settings.proportional)
    return gain_of_band(value) if settings.proportional_as == ProportionalAs.PROPORTIONAL_BAND else value


def ideal(settings: Settings) -> Tuning | None:
    """The tuning in the ideal form; None where a part of it or its form is not recorded, or has no such form."""
    proportional, form = gain(settings), settings.pid_form
    if proportional is None or form == PidForm.PARALLEL or (form is None and settings.derivative):
        return None
    integral, derivative = integral_s(settings), derivative_s(settings) or 0.0
    if settings.integral and integral is None:
        return None
    as_typed = Tuning(proportional, math.inf if integral is None else integral, derivative)
    return series_to_ideal(as_typed) if form == PidForm.SERIES else as_typed


def in_form(tuning: Tuning, form: PidForm | None) -> Tuning | None:
    """An ideal tuning in another form; None where it has none there."""
    if form == PidForm.PARALLEL:
        return None
    try:
        return ideal_to_series(tuning) if form == PidForm.SERIES else tuning
    except CalculationError:
        return None
