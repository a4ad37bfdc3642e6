"""What a five-point check applies and expects, for every instrument of a loop that can be checked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from register.calc.calibration import FIVE_POINTS, expected_at
from register.calc.errors import CalculationError
from register.calc.ranges import Range
from register.calc.signals import SIGNALS, Signal
from register.calc.units import label as unit_label
from register.plant.values import Loop, Port, Tag
from register.plant.words import Direction, Purpose

_DIGITS = {"thermocouple": 3, "resistance thermometer": 2, "current": 2, "voltage": 3, "millivolt": 2, "pneumatic": 3}
"""Places after the point that a bench instrument shows, by kind of signal (common practice, no source)."""


@dataclass(frozen=True)
class Point:
    percent: int
    applied: str
    expected: str


@dataclass(frozen=True)
class Check:
    """Points to apply at one instrument; ``note`` is what else one must know, ``missing`` why there are no points."""

    tag: str
    apply: str
    expect: str
    points: tuple[Point, ...] = ()
    note: str = ""
    missing: str = ""


def checks_of(loop: Loop) -> list[Check]:
    """Measuring instruments first, then outputs."""
    made = [check for tag in loop.tags for check in _measuring(tag)]
    return made + [check for tag in loop.tags for check in _driving(tag)]


def _measuring(tag: Tag) -> Iterator[Check]:
    inputs = [port for port in tag.ports_for(Purpose.MEASUREMENT, Direction.IN) if port.signal != "digital-input"]
    outputs = tag.ports_for(Purpose.MEASUREMENT, Direction.OUT)
    sent = next((port for port in outputs if _scales(port)), None)
    if sent and not inputs:
        yield _sender(tag, sent)
    for port in inputs:
        yield _receiver(tag, port, sent)


def _sender(tag: Tag, sent: Port) -> Check:
    """A transmitter of a process quantity: apply the quantity, expect the signal."""
    expect = f"{SIGNALS[sent.signal].label} at {sent.name}"
    if sent.range is None:
        return Check(tag.name, "", expect, missing=f"the range of {sent.name} is not recorded")
    return Check(
        tag.name,
        f"the process value in {unit_label(sent.range.unit, sent.range.reference)}",
        expect,
        tuple(
            Point(int(percent), _value(tag, sent.range, percent), _electrical(sent, sent.range, percent))
            for percent in FIVE_POINTS
        ),
    )


def _receiver(tag: Tag, port: Port, sent: Port | None) -> Check:
    """An instrument with an electrical input: apply the signal, expect the reading or, of a converter, its signal."""
    signal = SIGNALS.get(port.signal)
    rooted = bool(tag.settings and tag.settings.square_root)
    measured = tag.range if rooted else port.range or tag.range
    apply = f"{signal.label if signal else port.signal or 'signal not recorded'} at {port.name}"
    expect = f"{SIGNALS[sent.signal].label} at {sent.name}" if sent else "reading"
    if signal is None or measured is None:
        what = "signal" if signal is None else "range"
        return Check(tag.name, apply, expect, missing=f"the {what} of {port.name} is not recorded")
    points = []
    try:
        for percent in FIVE_POINTS:
            answer = _electrical(sent, measured, percent) if sent else _value(tag, measured, percent, unit=True)
            points.append(Point(int(percent), _electrical(port, measured, percent, rooted=rooted), answer))
    except CalculationError as reason:
        return Check(tag.name, apply, expect, missing=str(reason))
    cold = "mV are those against 0 °C: take off the emf at the temperature of the terminals, or let the source do it."
    return Check(tag.name, apply, expect, tuple(points), note=cold if signal.kind == "thermocouple" else "")


def _driving(tag: Tag) -> Iterator[Check]:
    for purpose in (Purpose.CONTROL, Purpose.COOLING_CONTROL):
        for port in tag.ports_for(purpose, Direction.OUT):
            if _scales(port):
                percent_range = Range(Decimal(0), Decimal(100), "P1")
                points = (
                    Point(int(percent), f"{percent:.0f} %", _electrical(port, percent_range, percent))
                    for percent in FIVE_POINTS
                )
                yield Check(tag.name, "output by hand", f"{SIGNALS[port.signal].label} at {port.name}", tuple(points))


def _scales(port: Port) -> bool:
    return port.signal in SIGNALS and SIGNALS[port.signal].is_span


def _electrical(port: Port, measured: Range, percent: float, *, rooted: bool = False) -> str:
    """What to apply or expect; ``rooted``: the instrument extracts the root from it, so it goes with the square."""
    signal: Signal = SIGNALS[port.signal]
    expected = expected_at(
        percent, measured, signal, reversed_=port.reversed, square_root=port.square_root, square_root_after=rooted
    )
    return f"{expected.electrical:.{_DIGITS.get(signal.kind, 3)}f} {expected.symbol}".replace("-", "−")


def _value(tag: Tag, measured: Range, percent: float, *, unit: bool = False) -> str:
    """The engineering value with the decimals that the instrument shows, else as exactly as the range states it."""
    value = measured.value_at(Decimal(int(percent)))
    decimals = tag.settings.decimals if tag.settings else None
    shown = f"{value:f}" if decimals is None else f"{value:.{decimals}f}"
    return f"{shown} {unit_label(measured.unit, measured.reference) if unit else ''}".strip().replace("-", "−")
