"""Signals between instruments: spans, scaling of engineering values to them, and what a wrong reader would show."""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache

from register.calc.checked import finite
from register.calc.errors import EmptySpan, OutOfRange, UnknownSpelling
from register.calc.units import convert, read_table, unit


@dataclass(frozen=True, slots=True)
class Signal:
    """A signal's kind and, where it is a span of current, voltage or pressure, the ends of that span in its unit."""

    key: str
    label: str
    kind: str
    low: Decimal | None
    high: Decimal | None
    unit: str
    live_zero: bool

    def __str__(self) -> str:
        return self.label

    @property
    def is_span(self) -> bool:
        """Whether it carries a value between two ends, rather than a couple's emf, a resistance or a state."""
        return self.low is not None

    @property
    def span(self) -> Decimal:
        """Width in the signal's unit. Raises EmptySpan where the signal has none."""
        low, high = self._ends()
        return high - low

    @property
    def ends(self) -> tuple[float, float]:
        """Low and high in the signal's unit. Raises EmptySpan where the signal has none."""
        low, high = self._ends()
        return float(low), float(high)

    def _ends(self) -> tuple[Decimal, Decimal]:
        if self.low is None or self.high is None:
            raise EmptySpan(f"{self.label} has no span to scale to.")
        return self.low, self.high

    def part(self, from_percent: Decimal, to_percent: Decimal) -> Signal:
        """The part of the span to which one of several final elements answers in a split range.

        Raises EmptySpan where the signal has no span or the part has none, OutOfRange outside 0 to 100 %.

        >>> str(SIGNALS["4-20mA"].part(Decimal(50), Decimal(100)))
        '12–20 mA'
        """
        low, _ = self._ends()
        if not 0 <= from_percent <= 100 or not 0 <= to_percent <= 100:
            raise OutOfRange(f"A part of a signal lies within 0 to 100 %, not {from_percent} to {to_percent} %.")
        if from_percent >= to_percent:
            raise EmptySpan(f"From {from_percent} to {to_percent} % of a signal there is no span.")
        low, high = (low + self.span * percent / 100 for percent in (from_percent, to_percent))
        label = f"{low.normalize():f}–{high.normalize():f} {unit(self.unit).symbol}"
        return replace(self, label=label, low=low, high=high, live_zero=self.live_zero or low > 0)


def _read() -> dict[str, Signal]:
    return {
        row["key"]: Signal(
            row["key"],
            row["label"],
            row["kind"],
            Decimal(row["low"]) if row["low"] else None,
            Decimal(row["high"]) if row["high"] else None,
            row["unit"],
            row["live_zero"] == "yes",
        )
        for row in read_table("signals.csv")
    }


SIGNALS: dict[str, Signal] = _read()
"""Every signal that the register knows, by key."""


def signal(key: str) -> Signal:
    """The signal of a key. Raises UnknownSpelling."""
    try:
        return SIGNALS[key]
    except KeyError:
        raise UnknownSpelling(f"“{key}” is not a signal that the register knows.") from None


_WIRES = re.compile(r"\b[234]\s*-?\s*(?:wires?|w)\b")
_BETWEEN_NUMBERS = re.compile(r"(?<=\d)(?:\s*(?:[-–—~÷/]|\.{2,3}|to|bis)\s*|\s+)\+?(?=-?\d)")
_NO_MATTER = re.compile(r"[\s_/()+,;–—]|\.(?!\d)|(?<=\D)-|-(?!\d)")


def _squeezed(text: str) -> str:
    """Case folded, one dash between two numbers, no other marks: "4…20 mA (2-wire)" and "4/20mA" are "4-20ma"."""
    folded = unicodedata.normalize("NFKC", text).casefold().replace("−", "-")
    decimal = re.sub(r"(?<=\d),(?=\d)", ".", _WIRES.sub("", folded))
    bare = _NO_MATTER.sub("", _BETWEEN_NUMBERS.sub("-", decimal))
    return re.sub(r"(?<=[av])d\.?c$", "", bare)


@cache
def _spellings() -> dict[str, str]:
    known = {}
    for one in SIGNALS.values():
        known[_squeezed(one.key)] = known[_squeezed(one.label)] = one.key
    for row in read_table("signal_spellings.csv"):
        known |= {_squeezed(text): row["key"] for text in row["spellings"].split("|")}
    return known


def parse_signal(text: str) -> str:
    """The key of a signal as a plant writes it. Raises UnknownSpelling, which shows it; never guesses.

    Source: common practice.

    >>> parse_signal("4/20mA"), parse_signal("Pt 100 3w"), parse_signal("K t/c")
    ('4-20mA', 'pt100', 'tc-K')
    """
    try:
        return _spellings()[_squeezed(text)]
    except KeyError:
        raise UnknownSpelling(f"“{text.strip()}” is not a signal that the register knows. Choose one.") from None


def scale(
    value: float, from_span: tuple[float, float], to_span: tuple[float, float], *, square_root: bool = False
) -> float:
    """A value of one span as a value of another; either may run backwards. Linear, or the root of the fraction.

    Raises EmptySpan for a source span without width, OutOfRange for the root of a negative fraction, NotANumber.
    Source: ISA-51.1, span and range; ISO 5167-1:2003, 5, for the root.

    >>> scale(40, (0, 100), (4, 20))
    10.4
    >>> scale(8, (4, 20), (100, 0))
    75.0
    """
    finite(
        value=value, start_of_span=from_span[0], end_of_span=from_span[1], low_output=to_span[0], high_output=to_span[1]
    )
    if from_span[0] == from_span[1]:
        raise EmptySpan(f"A span from {from_span[0]} to {from_span[1]} has no width.")
    fraction = (value - from_span[0]) / (from_span[1] - from_span[0])
    if square_root:
        if fraction < 0:
            raise OutOfRange(
                f"The root needs a value of at least {from_span[0]}; {value} lies below the zero of the span."
            )
        fraction = math.sqrt(fraction)
    return to_span[0] + fraction * (to_span[1] - to_span[0])


def electrical_at(fraction: float, of: Signal, *, reversed_: bool = False, square_root: bool = False) -> float:
    """What a sender puts on its signal at a fraction (0 to 1) of its range, in the signal's unit.

    ``square_root``: the sender extracts the root, so that the signal is linear in flow while the range is of
    differential pressure. Raises EmptySpan, OutOfRange, NotANumber.
    Source: IEC 60381-1, IEC 60381-2, IEC 60382.

    >>> electrical_at(0.5, SIGNALS["4-20mA"])
    12.0
    """
    low, high = of.ends
    return scale(fraction, (0.0, 1.0), (high, low) if reversed_ else (low, high), square_root=square_root)


def fraction_of(value: float, of: Signal, *, reversed_: bool = False, square_root: bool = False) -> float:
    """What fraction of its range a receiver makes of a value on its signal; may lie outside 0 to 1.

    ``square_root``: the receiver extracts the root. Raises EmptySpan, OutOfRange, NotANumber.
    Source: IEC 60381-1, IEC 60381-2, IEC 60382.

    >>> fraction_of(12, SIGNALS["4-20mA"])
    0.5
    """
    low, high = of.ends
    return scale(value, (high, low) if reversed_ else (low, high), (0.0, 1.0), square_root=square_root)


@dataclass(frozen=True, slots=True)
class End:
    """One end of a connection: its signal, the engineering values at 0 and 100 % of range, and how it scales them."""

    signal: Signal
    low: float
    high: float
    reversed: bool = False
    square_root: bool = False


def shown_by(reader: End, true: float, sender: End) -> float:
    """What a receiver shows when the sender measures the true value; right where it returns that value.

    The value on the wire is converted into the reader's unit: 3–15 psi is not 0.2–1.0 bar. Raises WrongDimension where
    the two are no signals of one quantity (a current into a voltage input), EmptySpan, OutOfRange, NotANumber.
    Source: IEC 60381-1, IEC 60381-2, IEC 60382.

    >>> milliamps = SIGNALS["4-20mA"]
    >>> shown_by(End(milliamps, 0, 500), 200, End(milliamps, 0, 400))
    250.0
    >>> round(shown_by(End(SIGNALS["0-20mA"], 0, 100), 50, End(milliamps, 0, 100)), 6)
    60.0
    >>> round(shown_by(End(SIGNALS["0.2-1bar"], 0, 100), 100, End(SIGNALS["3-15psi"], 0, 100)), 1)
    104.3
    """
    fraction = scale(true, (sender.low, sender.high), (0.0, 1.0))
    on_the_wire = electrical_at(fraction, sender.signal, reversed_=sender.reversed, square_root=sender.square_root)
    if sender.signal.unit != reader.signal.unit:
        on_the_wire = float(convert(Decimal(on_the_wire), sender.signal.unit, reader.signal.unit))
    read = fraction_of(on_the_wire, reader.signal, reversed_=reader.reversed, square_root=reader.square_root)
    return scale(read, (0.0, 1.0), (reader.low, reader.high))


def flow_percent(differential_pressure_percent: float, roots: int) -> float:
    """Flow that is shown, in per cent, when the root is extracted so many times between orifice and reader.

    Once is right: flow is the root of differential pressure (ISO 5167-1:2003, 5). Raises OutOfRange below 0 %.
    Source: ISO 5167-1:2003, 5.

    >>> round(flow_percent(25, 1), 2), round(flow_percent(25, 2), 2), flow_percent(25, 0)
    (50.0, 70.71, 25.0)
    """
    finite(differential_pressure=differential_pressure_percent)
    if differential_pressure_percent < 0:
        raise OutOfRange(f"Differential pressure must be at least 0 %, not {differential_pressure_percent}.")
    fraction = differential_pressure_percent / 100
    for _ in range(roots):
        fraction = math.sqrt(fraction)
    return fraction * 100


FAILURE_LOW_MA, MEASURING_LOW_MA, MEASURING_HIGH_MA, FAILURE_HIGH_MA = 3.6, 3.8, 20.5, 21.0
"""NAMUR NE 43: at or below and at or above the outer two a signal says failure; between the inner two it measures."""


def ne43_state(current_ma: float) -> str:
    """What a current says: "failure low", "between bands low", "under-range", "normal", "over-range", "between bands
    high" or "failure high".

    Exactly 3.6 and 21.0 mA are printed both as failure and as not; they count as failure here.
    Source: NAMUR NE 43. Raises NotANumber.

    >>> ne43_state(3.8), ne43_state(21.0)
    ('under-range', 'failure high')
    """
    finite(current=current_ma)
    if current_ma <= FAILURE_LOW_MA:
        return "failure low"
    if current_ma < MEASURING_LOW_MA:
        return "between bands low"
    if current_ma < 4:
        return "under-range"
    if current_ma <= 20:
        return "normal"
    if current_ma <= MEASURING_HIGH_MA:
        return "over-range"
    return "failure high" if current_ma >= FAILURE_HIGH_MA else "between bands high"
