"""What a wrong connection does, in numbers that a finding can state."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from register.calc.errors import CalculationError
from register.calc.ranges import Range
from register.calc.signals import SIGNALS, End, shown_by
from register.calc.units import label
from register.plant.values import Connection
from register.rules.reading import read_signal


def rounded(value: float | Decimal, of: Range | None = None) -> str:
    """A number with as many digits as help: to a thousandth of the range's span, no trailing zeros."""
    number = Decimal(str(value))
    places = 2 if of is None else max(0, 3 - of.span.adjusted())
    text = f"{number:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return ("0" if text == "-0" else text).replace("-", "−")


def quantity(value: float | Decimal, of: Range) -> str:
    """A number in the unit of a range, as "187.5 °C"."""
    return f"{rounded(value, of)} {label(of.unit, of.reference)}"


def difference(value: float | Decimal, of: Range) -> str:
    """An error or a gap in the unit of a range, to three significant digits, as "0.55 °C"."""
    number = Decimal(f"{float(value):.3g}")
    return f"{number:f} {label(of.unit, of.reference)}".replace("-", "−")


@dataclass(frozen=True, slots=True)
class Misreading:
    """The worst that a connection does over the range: what is true, what is shown, the error in per cent of span."""

    true: str
    shown: str
    error_percent: str


def misreading(connection: Connection, source_range: Range, target_range: Range) -> Misreading | None:
    """The worst of five points from 0 to 100 % of the source; None where the two ends cannot be compared in numbers."""
    source, target = SIGNALS.get(connection.source.signal), SIGNALS.get(read_signal(connection))
    if source is None or target is None or not (source.is_span and target.is_span and source.kind == target.kind):
        return None
    if source.unit != target.unit or not source_range.comparable(target_range):
        return None
    there = source_range.in_unit_of(target_range)
    sender = End(source, float(there.low), float(there.high), connection.source.reversed)
    reader = End(target, float(target_range.low), float(target_range.high), connection.target.reversed)
    points = [float(there.value_at(Decimal(percent))) for percent in (0, 25, 50, 75, 100)]
    try:
        true, shown = max(
            ((true, shown_by(reader, true, sender)) for true in points), key=lambda pair: abs(pair[1] - pair[0])
        )
    except CalculationError:
        return None  # numbers beyond what can be told apart
    error = abs(shown - true) * 100 / float(target_range.span)
    return Misreading(quantity(true, target_range), quantity(shown, target_range), rounded(error))
