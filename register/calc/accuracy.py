"""Accuracy of a chain: independent errors by root sum of squares, worst case, known biases, each part's share."""

from __future__ import annotations

import math
from collections.abc import Sequence

from register.calc.checked import finite, finite_each, not_negative, positive


def root_sum_of_squares(errors: Sequence[float], biases: Sequence[float] = ()) -> float:
    """Independent errors combined, known one-sided ones added whole; all in one unit.

    Raises NotANumber. Source: ISA-RP67.04.02; JCGM 100:2008 (GUM), 5.1.

    >>> round(root_sum_of_squares([0.25, 0.5, 0.25], [0.1]), 5)
    0.71237
    """
    finite_each("error", (*errors, *biases))
    return math.sqrt(math.fsum(error**2 for error in errors)) + math.fsum(abs(bias) for bias in biases)


def worst_case(errors: Sequence[float]) -> float:
    """All errors at their worst at once, in their one unit. Raises NotANumber.

    Source: ISA-RP67.04.02, arithmetic combination.

    >>> round(worst_case([0.1, 0.1, 0.25]), 2)
    0.45
    """
    finite_each("error", errors)
    return math.fsum(abs(error) for error in errors)


def shares_percent(errors: Sequence[float]) -> tuple[float, ...]:
    """What each error contributes to the sum of squares, in per cent. All 0 where every error is. Raises NotANumber.

    Source: JCGM 100:2008 (GUM), 5.1.

    >>> shares_percent([3.0, 4.0])
    (36.0, 64.0)
    """
    finite_each("error", errors)
    whole = math.fsum(error**2 for error in errors)
    return tuple(error**2 * 100 / whole if whole else 0.0 for error in errors)


def of_span(percent: float, span: float) -> float:
    """A per cent of span as an error in the unit of the span. Raises OutOfRange, NotANumber.

    Source: ISA-51.1, accuracy rating.

    >>> of_span(0.2, 1500.0)
    3.0
    """
    positive(span=span)
    not_negative(error=percent)
    return percent * span / 100


def of_reading(percent: float, reading: float) -> float:
    """A per cent of reading as an error in the unit of the reading. Raises OutOfRange, NotANumber.

    Source: ISA-51.1, accuracy rating.

    >>> of_reading(0.15, 250.0)
    0.375
    """
    finite(reading=reading)
    not_negative(error=percent)
    return percent * abs(reading) / 100


def meets(errors: Sequence[float], requirement: float) -> bool:
    """Whether independent errors, combined by root sum of squares, are within what is required; equality is.

    Source: ISA-RP67.04.02.

    >>> meets([0.25, 0.2, 0.1], 0.3)
    False
    """
    positive(requirement=requirement)
    return root_sum_of_squares(errors) <= requirement * (1 + 1e-12)
