"""Checks that many calculations make of what they are given."""

from __future__ import annotations

import math
from collections.abc import Iterable

from register.calc.errors import NotANumber, OutOfRange


def finite(**values: float) -> None:
    """Raises NotANumber, which names the quantity, for what is not a finite number."""
    for name, value in values.items():
        if not math.isfinite(value):
            raise NotANumber(f"{name.replace('_', ' ')} must be a finite number, not {value}.")


def finite_each(name: str, values: Iterable[float]) -> None:
    """Raises NotANumber, which names the quantity and its place, for what is not a finite number."""
    finite(**{f"{name}_{place}": value for place, value in enumerate(values, start=1)})


def positive(**values: float) -> None:
    """Raises OutOfRange, which names the quantity, for what is not above 0."""
    finite(**values)
    for name, value in values.items():
        if value <= 0:
            raise OutOfRange(f"{name.replace('_', ' ')} must be above 0, not {value:g}.")


def not_negative(**values: float) -> None:
    """Raises OutOfRange, which names the quantity, for what is below 0."""
    finite(**values)
    for name, value in values.items():
        if value < 0:
            raise OutOfRange(f"{name.replace('_', ' ')} must be 0 or more, not {value:g}.")
