"""What a five-point check applies and expects, for every instrument of a loop that can be checked, as text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from register.calc.calibration import FIVE_POINTS
from register.calc.ranges import Range
from register.calc.signals import SIGNALS
from register.plant import check_points
from register.plant.check_points import NothingToCheck, Side, check_between, measuring_ends
from register.plant.values import Loop, Port, Tag
from register.plant.words import Direction, Purpose

_COLD_JUNCTION = (
    "mV are those against 0 °C: take off the emf at the temperature of the terminals, or let the source do it."
)


@dataclass(frozen=True)
class Point:
    percent: int
    applied: str
    expected: str


@dataclass(frozen=True)
class Check:
    """Points to apply at one instrument; ``note`` is what else one must know, ``missing`` why there are no points."""

    tag: str
    apply: str = ""
    expect: str = ""
    points: tuple[Point, ...] = ()
    note: str = ""
    missing: str = ""


def checks_of(loop: Loop) -> list[Check]:
    """Measuring instruments first, then outputs."""
    made = [check for tag in loop.tags for check in _measuring(loop, tag)]
    return made + [check for tag in loop.tags for check in _driving(tag)]


def _measuring(loop: Loop, tag: Tag) -> Iterator[Check]:
    for port in tag.ports_for(Purpose.MEASUREMENT, Direction.IN):
        if port.signal not in SIGNALS:
            yield Check(tag.name, missing=f"the signal of {port.name} is not recorded")
    for taken, sent in measuring_ends(tag):
        if taken is None and not SIGNALS[sent.signal].is_span:
            continue  # a bare sensor: what it gives stands in the check of whatever reads it
        try:
            check = check_between(loop, tag, taken, sent)
        except NothingToCheck as reason:
            yield Check(tag.name, missing=str(reason))
        else:
            yield _printed(tag, check)


def _printed(tag: Tag, check: check_points.Check) -> Check:
    applied = check.applied
    process = f"the process value in {applied.symbol}" if applied.signal is None else check.apply
    points = tuple(
        Point(
            int(percent),
            _shown(tag, applied, percent, unit=applied.signal is not None),
            _shown(tag, check.expected, percent, unit=True),
        )
        for percent in check.percents
    )
    cold = applied.signal is not None and applied.signal.kind == "thermocouple"
    return Check(tag.name, process, check.expect, points, note=_COLD_JUNCTION if cold else "")


def _driving(tag: Tag) -> Iterator[Check]:
    for purpose in (Purpose.CONTROL, Purpose.COOLING_CONTROL):
        for port in tag.ports_for(purpose, Direction.OUT):
            if port.signal in SIGNALS and SIGNALS[port.signal].is_span:
                yield _driven(tag, port)


def _driven(tag: Tag, port: Port) -> Check:
    signal = SIGNALS[port.signal]
    side = Side(Range(Decimal(0), Decimal(100), "P1"), signal, reversed=port.reversed)
    points = tuple(
        Point(int(percent), f"{percent:.0f} %", _shown(tag, side, percent, unit=True)) for percent in FIVE_POINTS
    )
    return Check(tag.name, "output by hand", f"{signal.label} at {port.name}", points)


def _shown(tag: Tag, side: Side, percent: float, *, unit: bool) -> str:
    """A signal as the bench shows it; a value with the decimals of the instrument, or more where it needs them."""
    value = side.shown(percent)
    if side.signal is None and tag.settings and tag.settings.decimals is not None:
        rounded = round(value, tag.settings.decimals)
        value = rounded if rounded == value else value
    return f"{value:f} {side.symbol if unit else ''}".strip().replace("-", "−")
