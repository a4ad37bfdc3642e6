"""Temperatures at which a finding states what a temperature measurement does."""

from __future__ import annotations

from decimal import Decimal

from register.calc.ranges import Range
from register.calc.units import convert
from register.plant.values import Connection, Loop, Tag
from register.plant.words import Location
from register.rules.reading import read_range

TERMINALS_C = 25.0
"""Ambient at the terminals where none is recorded."""


def working_c(loop: Loop, one: Connection) -> float:
    """The temperature at which a sensor is said to work: the loop's working value, else the middle of what is read."""
    measured = read_range(one)
    if measured is None or measured.dimension != "temperature":
        return 100.0
    if loop.normal_value is not None and loop.range is not None and loop.range.dimension == "temperature":
        return in_celsius(loop.normal_value, loop.range)
    return in_celsius(measured.value_at(Decimal(50)), measured)


def in_celsius(value: Decimal, of: Range) -> float:
    """A value of a range of temperature in °C. Raises WrongDimension."""
    return float(convert(value, of.unit, "CEL"))


def panel_c(reader: Tag) -> float:
    """Temperature where the extension cable ends: that of the reader's place, unless it stands in the field."""
    if reader.ambient_c is None or reader.location == Location.FIELD:
        return TERMINALS_C
    return float(reader.ambient_c)
