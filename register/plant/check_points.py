"""The check of one instrument as numbers: what to apply at each point, what it should say, how far a reading is off.

A sender is given the process value and says a signal; a receiver is given a signal and says a value; a converter is
given one signal and says another.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from register.calc import rtd, thermocouples
from register.calc.calibration import FIVE_POINTS, error_percent_of_span, expected_at
from register.calc.errors import CalculationError
from register.calc.ranges import Range
from register.calc.signals import SIGNALS, Signal
from register.calc.units import convert, unit
from register.calc.units import label as unit_label
from register.plant.values import Loop, Port, Tag
from register.plant.words import Direction, Purpose

BEYOND_PERCENT = 25
"""How far beyond the ends of its range an instrument can still say something: 0 and 24 mA of 4–20 mA (common practice,
no source). What lies further out was read in another unit, or the instrument is out of order."""

_DIGITS = {"mA": 3, "V": 4, "mV": 3, "Ω": 3, "psi": 3, "bar": 4}
"""Places after the point to which a signal is set and read on the bench (common practice, no source)."""


class NothingToCheck(CalculationError):
    """The tag cannot be checked point by point; the message says what its record lacks."""


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a check: the value itself (no signal) or a signal that carries it."""

    range: Range
    signal: Signal | None = None
    reversed: bool = False
    square_root: bool = False  # the root is extracted on the way to this signal
    square_root_after: bool = False  # whoever reads this signal extracts the root

    @property
    def symbol(self) -> str:
        if self.signal is None:
            return unit_label(self.range.unit, self.range.reference)
        if self.signal.is_span:
            return unit(self.signal.unit).symbol
        return "mV" if self.signal.kind == "thermocouple" else "Ω"

    def at(self, percent: float) -> float:
        """What stands on this side at a per cent of the range. Raises CalculationError."""
        if self.signal is None:
            return float(self.range.low) + float(self.range.span) * percent / 100
        return expected_at(
            percent,
            self.range,
            self.signal,
            reversed_=self.reversed,
            square_root=self.square_root,
            square_root_after=self.square_root_after,
        ).electrical

    def shown(self, percent: float, *, further: int = 0) -> Decimal:
        """The same with as many places as the bench shows, or so many further ones."""
        if self.signal is None:
            return self.range.value_at(Decimal(f"{percent:g}"))
        places = Decimal(1).scaleb(-_DIGITS.get(self.symbol, 3) - further)
        return Decimal(self.at(percent)).quantize(places)

    def error_percent(self, reading: float, percent: float) -> float:
        """How far a reading is from what should stand here, in per cent of span; positive where it says too much.

        A sensor's reading is taken back to the temperature that it stands for, since its signal is not straight.
        Raises CalculationError where no such sensor can give the reading. Source: ISA-51.1; IEC 61298-2.
        """
        low, high = float(self.range.low), float(self.range.high)
        if self.signal is None:
            return error_percent_of_span(self.at(percent), reading, (low, high), (low, high))
        if self.signal.is_span:
            error = error_percent_of_span(self.at(percent), reading, self.signal.ends, self.signal.ends)
            return -error if self.reversed else error
        value = low + (high - low) * percent / 100
        return error_percent_of_span(value, self._temperature(reading), (low, high), (low, high))

    def _temperature(self, reading: float) -> float:
        """What a sensor's mV (against 0 °C) or Ω stand for, in the unit of the range."""
        if self.signal.kind == "thermocouple":
            celsius = thermocouples.temperature(self.signal.key[3:], reading)
        else:
            element = rtd.element(self.signal.key)
            celsius = rtd.temperature(reading, element.r0_ohm, element.curve)
        return float(convert(Decimal(celsius), "CEL", self.range.unit))


@dataclass(frozen=True, slots=True)
class Check:
    """What is applied to an instrument, what it then says, and at which per cents of the range."""

    tag: str
    apply: str
    expect: str
    applied: Side
    expected: Side
    percents: tuple[float, ...] = FIVE_POINTS

    @property
    def range(self) -> Range:
        return self.expected.range

    def could_say(self, reading: float, percent: float) -> bool:
        """Whether the instrument can say a reading at all, right or wrong."""
        try:
            says = percent + self.expected.error_percent(reading, percent)
        except CalculationError:
            return False
        return -BEYOND_PERCENT <= says <= 100 + BEYOND_PERCENT


def check_of(loop: Loop, tag: Tag, percents: Sequence[float] = FIVE_POINTS) -> Check:
    """The check of a tag of the loop, at five points unless a laboratory chose others.

    Raises NothingToCheck, which says what the tag's record lacks or what is wrong with the points.
    """
    ends = next(measuring_ends(tag), None)
    if ends is None:
        raise NothingToCheck(
            f"{tag.name} has no measurement port whose signal carries a value. Add the port with its signal first."
        )
    return check_between(loop, tag, *ends, percents)


def measuring_ends(tag: Tag) -> Iterator[tuple[Port | None, Port | None]]:
    """Between which ports a tag measures: each input with the first output, or that output alone."""
    inputs, outputs = (
        [port for port in tag.ports_for(Purpose.MEASUREMENT, direction) if _carries_a_value(port)]
        for direction in (Direction.IN, Direction.OUT)
    )
    sent = outputs[0] if outputs else None
    if sent and not inputs:
        yield None, sent
    for port in inputs:
        yield port, sent


def check_between(
    loop: Loop, tag: Tag, taken: Port | None, sent: Port | None, percents: Sequence[float] = FIVE_POINTS
) -> Check:
    """The check of a tag from one of its ports to another; one that is missing is the process, or the tag's reading.

    Raises NothingToCheck.
    """
    measured = _range(loop, tag, taken, sent)
    if measured is None:
        raise NothingToCheck(f"The range of {tag.name} is not recorded. Enter it at the tag first, then calibrate.")
    gives = _side(sent, sent.range or measured) if sent else None
    if taken is None:
        check = Check(tag.name, "process value", _named(sent), Side(gives.range), gives, _points(percents))
    else:
        rooted = bool(tag.settings and tag.settings.square_root)
        takes = _side(taken, measured if rooted else taken.range or measured, rooted=rooted)
        expect = _named(sent) if sent else "reading"
        check = Check(tag.name, _named(taken), expect, takes, gives or Side(takes.range), _points(percents))
    try:
        for percent in check.percents:
            check.applied.at(percent), check.expected.at(percent)
    except CalculationError as reason:
        raise NothingToCheck(f"{tag.name} cannot be checked over {check.range}: {reason}") from None
    return check


MOST_POINTS = 41
"""A point every 2.5 %: more than any check has (common practice, no source)."""


def _points(percents: Sequence[float]) -> tuple[float, ...]:
    """The points to six significant digits, which is finer than any standard. Raises NothingToCheck."""
    made = tuple(float(f"{percent:.6g}") for percent in percents)
    rising = all(one < other for one, other in pairwise(made))
    if not 2 <= len(made) <= MOST_POINTS or not rising or not 0 <= made[0] < made[-1] <= 100:
        raise NothingToCheck(f"The points of a check rise from 0 to 100 %, two at least and {MOST_POINTS} at most.")
    return made


def _carries_a_value(port: Port) -> bool:
    signal = SIGNALS.get(port.signal)
    return signal is not None and (signal.is_span or signal.kind in ("thermocouple", "resistance thermometer"))


def _range(loop: Loop, tag: Tag, taken: Port | None, sent: Port | None) -> Range | None:
    """The range that the tag works to; a bare sensor, which has none of its own, is used over that of its loop."""
    if tag.range or taken or SIGNALS[sent.signal].is_span:
        return tag.range
    return loop.range


def _side(port: Port, measured: Range, *, rooted: bool = False) -> Side:
    return Side(measured, SIGNALS[port.signal], port.reversed, port.square_root, rooted)


def _named(port: Port) -> str:
    return f"{SIGNALS[port.signal].label} at {port.name}"
