"""Tuning as another controller takes it: the same control action in its form and its units."""

from __future__ import annotations

import math
from decimal import Decimal

from msgspec.structs import replace

from register.calc.control import (
    Tuning,
    band_of_gain,
    gain_of_band,
    ideal_to_series,
    integral_time_s,
    repeats_per_minute,
    series_to_ideal,
)
from register.calc.errors import NoEquivalent
from register.plant.values import Model, Settings
from register.plant.words import PidForm, ProportionalAs, TimeUnit

SIGNIFICANT_DIGITS = 4
"""Of a converted number: finer than any controller is keyed."""


def as_taken_by(settings: Settings, model: Model) -> Settings:
    """The settings with their tuning in the form and the units of a model; what fits already stays as typed.

    Raises NoEquivalent where the tuning has no such form, and CalculationError where a number cannot be calculated
    with. An integral or derivative of 0 is switched off, and stays so.
    Source: proportional band 100/gain and reset rate 60/Ti of ISA-51.1; the algebra of the PID forms.

    >>> from register.plant import sketch
    >>> old = sketch.temperature_loop().controllers[0].settings
    >>> model = sketch.controller_model(proportional_as=ProportionalAs.GAIN, time_unit=TimeUnit.REPEATS_PER_MINUTE)
    >>> new = as_taken_by(replace(old, proportional=Decimal(40), integral=Decimal(120)), model)
    >>> new.proportional, new.integral
    (Decimal('2.5'), Decimal('0.5'))
    """
    if settings.proportional is None:
        return settings
    form = model.pid_form or settings.pid_form
    unit = model.time_unit or settings.time_unit
    proportional_as = model.proportional_as or settings.proportional_as
    other_form = settings.pid_form is not None and form != settings.pid_form and bool(settings.derivative)
    tuning = _in_seconds(settings)
    if other_form:
        tuning = _reformed(tuning, settings.pid_form, form)
    changed = {"pid_form": form, "time_unit": unit, "proportional_as": proportional_as}
    if other_form or _differ(settings.proportional_as, proportional_as):
        by_band = proportional_as == ProportionalAs.PROPORTIONAL_BAND
        changed["proportional"] = _rounded(band_of_gain(tuning.gain) if by_band else tuning.gain)
    if other_form or _differ(settings.time_unit, unit):
        changed |= _times(settings, tuning, unit)
    return replace(settings, **changed)


def _differ(typed: object, taken: object) -> bool:
    return typed is not None and taken is not None and typed != taken


def _in_seconds(settings: Settings) -> Tuning:
    band = settings.proportional_as == ProportionalAs.PROPORTIONAL_BAND
    gain = gain_of_band(float(settings.proportional)) if band else float(settings.proportional)
    integral, derivative = times_s(settings)
    return Tuning(gain, integral or math.inf, derivative)


def times_s(settings: Settings) -> tuple[float, float]:
    """Integral and derivative time in seconds, 0 where there is none. Raises OutOfRange for repeats below 0."""
    integral, derivative = float(settings.integral or 0), float(settings.derivative or 0)
    if settings.time_unit == TimeUnit.REPEATS_PER_MINUTE:
        integral = integral and integral_time_s(integral)
    elif settings.time_unit == TimeUnit.MINUTES:
        integral *= 60
    in_minutes = settings.time_unit in (TimeUnit.MINUTES, TimeUnit.REPEATS_PER_MINUTE)
    return integral, derivative * 60 if in_minutes else derivative


def _reformed(tuning: Tuning, old: PidForm, new: PidForm) -> Tuning:
    if PidForm.PARALLEL in (old, new):
        raise NoEquivalent("Makers state the parallel form in different ways. Convert the tuning by the manual.")
    return series_to_ideal(tuning) if new == PidForm.IDEAL else ideal_to_series(tuning)


def _times(settings: Settings, tuning: Tuning, unit: TimeUnit | None) -> dict[str, Decimal]:
    integral, derivative = tuning.integral_time, tuning.derivative_time
    if unit == TimeUnit.REPEATS_PER_MINUTE:
        integral = repeats_per_minute(integral) if math.isfinite(integral) else 0.0
    elif unit == TimeUnit.MINUTES:
        integral /= 60
    if unit in (TimeUnit.MINUTES, TimeUnit.REPEATS_PER_MINUTE):
        derivative /= 60
    made = {}
    if settings.integral:
        made["integral"] = _rounded(integral)
    if settings.derivative:
        made["derivative"] = _rounded(derivative)
    return made


def _rounded(value: float) -> Decimal:
    return Decimal(f"{Decimal(f'{value:.{SIGNIFICANT_DIGITS}g}').normalize():f}")
