"""A calibration as people read it, on its page and on its certificate: every figure with its unit and what it means."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from register.calc.calibration import accuracy_ratio, in_unit, passes
from register.calc.ranges import Range
from register.calc.units import label as unit_label
from register.models import Calibration, CalibrationPoint, Revision
from register.models.calibrations import calibrated_range, outcome
from register.sheets.pdf import html_to_pdf, printed_html
from register.sheets.sheet import FOOT_MM, MARGIN_MM

STATES = {"as_found": "As found", "as_left": "As left"}


@dataclass(frozen=True)
class Cell:
    """One reading and its error; ``passed`` is None where nothing was read."""

    reading: str = ""
    in_unit: str = ""
    percent: str = ""
    passed: bool | None = None


@dataclass(frozen=True)
class Row:
    percent: str
    way: str
    applied: str
    expected: str
    as_found: Cell
    as_left: Cell


@dataclass(frozen=True)
class Judgement:
    """What the readings of one state come to."""

    state: str
    worst_percent: str
    worst_in_unit: str
    hysteresis: str
    passed: bool


@dataclass(frozen=True)
class Account:
    """A calibration in words and figures."""

    range: Range | None
    unit: str
    tolerance: str
    uncertainty: str
    rows: tuple[Row, ...]
    judgements: tuple[Judgement, ...]

    @property
    def as_found(self) -> Judgement | None:
        return next((one for one in self.judgements if one.state == STATES["as_found"]), None)


def account_of(calibration: Calibration, readings: Sequence[CalibrationPoint]) -> Account:
    measured = calibrated_range(calibration)
    judgements = []
    for state, word in STATES.items():
        if found := outcome(calibration, readings, state):
            hysteresis = "" if found.hysteresis_percent is None else f"{found.hysteresis_percent:.2f} % of span"
            worst = _signed(found.worst_percent)
            judgements.append(
                Judgement(word, worst, error_in_unit(found.worst_percent, measured), hysteresis, found.passed)
            )
    return Account(
        measured,
        unit_label(measured.unit, measured.reference) if measured else "",
        _tolerance(calibration, measured),
        _uncertainty(calibration),
        tuple(_row(calibration, one, measured) for one in readings),
        tuple(judgements),
    )


def _row(calibration: Calibration, one: CalibrationPoint, measured: Range | None) -> Row:
    cells = (_cell(calibration, one, state, measured) for state in STATES)
    return Row(f"{one.percent:f}", one.get_way_display(), _plain(one.applied), _plain(one.expected), *cells)


def _cell(calibration: Calibration, one: CalibrationPoint, state: str, measured: Range | None) -> Cell:
    reading, error = getattr(one, state), getattr(one, f"{state}_error_percent")
    if reading is None or error is None:
        return Cell()
    passed = passes(float(error), float(calibration.tolerance_percent))
    return Cell(_plain(reading), error_in_unit(error, measured, named=False), _signed(error), passed)


def error_in_unit(percent: Decimal, measured: Range | None, *, named: bool = True) -> str:
    """An error in the unit of the range, to a hundred-thousandth of its span; "" without a range."""
    if measured is None:
        return ""
    places = max(0, math.ceil(5 - math.log10(float(measured.span))))
    shown = f"{in_unit(float(percent), measured, measured.unit):+.{places}f}".replace("-", "−")
    return f"{shown} {unit_label(measured.unit)}" if named else shown


def _tolerance(calibration: Calibration, measured: Range | None) -> str:
    if calibration.tolerance_percent is None:
        return ""
    shown = f"±{calibration.tolerance_percent:f} % of span"
    if measured is None:
        return shown
    return f"{shown} ({error_in_unit(calibration.tolerance_percent, measured).replace('+', '±')})"


def _uncertainty(calibration: Calibration) -> str:
    uncertainty, tolerance = calibration.standard_uncertainty_percent, calibration.tolerance_percent
    if not uncertainty:
        return ""
    shown = f"{uncertainty:f} % of span"
    if not tolerance:
        return shown
    return f"{shown}; the tolerance is {accuracy_ratio(float(tolerance), float(uncertainty)):.1f} times as wide"


def _plain(value: Decimal | None) -> str:
    return "" if value is None else f"{value:f}".replace("-", "−")


def _signed(percent: Decimal) -> str:
    return f"{percent:+.3f}".replace("-", "−")


def render_certificate(
    calibration: Calibration,
    readings: Sequence[CalibrationPoint],
    *,
    revision: Revision,
    due: date | None,
    plant_name: str,
    letter_paper: bool,
    live_url: str,
) -> bytes:
    """The certificate as PDF/A; equal arguments give equal bytes.

    ``revision`` is the one that stood once the calibration was recorded.
    """
    account = account_of(calibration, readings)
    context = {
        "calibration": calibration,
        "tag": calibration.tag,
        "asset": calibration.asset,
        "account": account,
        "adjusted": any(row.as_left.reading for row in account.rows),
        "revision": revision,
        "in_revision": revision.at == calibration.recorded_at,
        "due": due,
        "plant_name": plant_name,
        "live_url": live_url,
        "paper": {"size": "letter" if letter_paper else "A4", "text_pt": 8.5},
        "margin_mm": MARGIN_MM,
        "foot_mm": FOOT_MM,
    }
    return html_to_pdf(printed_html("calibrations/certificate.html", context))
