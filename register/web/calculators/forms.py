"""Every calculator by its address, in the order in which the page offers them."""

from __future__ import annotations

from register.web.calculators.base import Calculator
from register.web.calculators.circuits import (
    BusCalculator,
    IntrinsicSafetyCalculator,
    LoopPowerCalculator,
    PanelCalculator,
)
from register.web.calculators.control import ActionCalculator, FormsCalculator, TagCalculator, TuningCalculator
from register.web.calculators.reliability import SafetyCalculator, SparesCalculator
from register.web.calculators.sensors import LeadCalculator, SensorCalculator
from register.web.calculators.signals import AccuracyCalculator, EndsCalculator, SignalCalculator, UnitCalculator

CALCULATORS: tuple[type[Calculator], ...] = (
    SensorCalculator,
    SignalCalculator,
    UnitCalculator,
    LoopPowerCalculator,
    LeadCalculator,
    EndsCalculator,
    FormsCalculator,
    TuningCalculator,
    ActionCalculator,
    IntrinsicSafetyCalculator,
    BusCalculator,
    AccuracyCalculator,
    SparesCalculator,
    SafetyCalculator,
    PanelCalculator,
    TagCalculator,
)
