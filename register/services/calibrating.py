"""A technician's write of a calibration: what was read at each point, and what that says."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.utils import timezone

from register.calc.calibration import FIVE_POINTS, passes
from register.loading import load_loop
from register.models import Calibration, CalibrationPoint, Tag, User
from register.models.calibrations import Way, readings_digest
from register.plant.check_points import Check, NothingToCheck, check_of
from register.plant.words import CalibrationResult
from register.services.permissions import May
from register.services.recording import Refused, changing

STATES = ("as_found", "as_left")
_ERROR_PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class Reading:
    """What was read at one point, approached from one side, in the unit of the check; None: not read."""

    percent: float
    way: Way
    as_found: Decimal | None = None
    as_left: Decimal | None = None


def field_of(state: str, way: str, percent: float) -> str:
    """The name by which a form and a refusal know a reading: as_found_up_25."""
    return f"{state}_{way}_{percent:g}".replace(".", "_")


def ways_of(check: Check) -> list[tuple[Way, float]]:
    """The points of the check in the order in which they are read: upwards, then down again; the top counts once."""
    up = [(Way.UP, percent) for percent in check.percents]
    return up + [(Way.DOWN, percent) for percent in reversed(check.percents[:-1])]


def record_calibration(
    tag: Tag,
    *,
    on: date,
    by_whom: str,
    standard: str,
    certificate: str,
    tolerance_percent: Decimal,
    standard_uncertainty_percent: Decimal | None,
    points: Collection[Reading],
    percents: Sequence[float] = FIVE_POINTS,
    by: User,
    seen_revision: int,
    reason: str,
    work_order: str = "",
) -> Calibration:
    """Record a calibration at a tag with all its readings; result and errors are worked out from them.

    A run of points is read whole or not at all. Where nothing was adjusted there is no reading as left, and the
    instrument was left as it was found. ``percents`` are the points, where a laboratory chose its own. Raises Refused,
    or ValidationError for readings, each under its field.
    """
    with changing(
        tag.loop, by=by, needs=May.RECORD_WORK, reason=reason, work_order=work_order, seen_revision=seen_revision
    ) as at:
        installed = tag.installations.current().select_related("asset").first()
        _refuse_day(tag, on, installed.from_date if installed else None)
        _refuse_figures(tolerance_percent, standard_uncertainty_percent)
        check = _check(tag, percents)
        _refuse_readings(check, points)
        rows = [_point(check, one) for one in _in_order(check, points)]
        found, left = ([error for row in rows if (error := _error(row, state)) is not None] for state in STATES)
        worst = max(left or found, key=abs)
        allowed = float(tolerance_percent)
        calibration = Calibration(
            tag=tag,
            asset=installed.asset if installed else None,
            on=on,
            result=CalibrationResult.PASS if passes(float(worst), allowed) else CalibrationResult.FAIL,
            by=by_whom,
            standard=standard,
            certificate=certificate,
            range_low=check.range.low,
            range_high=check.range.high,
            range_unit=check.range.unit,
            range_reference=check.range.reference,
            points=len(check.percents),
            both_ways=any(one.way == Way.DOWN for one in rows),
            as_found_recorded=bool(found),
            worst_error_percent=worst,
            tolerance_percent=tolerance_percent,
            standard_uncertainty_percent=standard_uncertainty_percent,
            applied_unit=check.applied.symbol,
            reading_unit=check.expected.symbol,
            recorded_at=at,
        )
        calibration.readings_sha256 = readings_digest(calibration, rows)
        calibration.full_clean()
        calibration.save()
        for row in rows:
            row.calibration = calibration
        CalibrationPoint.objects.bulk_create(rows)
        return calibration


def _refuse_day(tag: Tag, on: date, went_in: date | None) -> None:
    if on > timezone.localdate():
        raise Refused(f"{on} is in the future. Give the day on which it was calibrated.", field="on")
    if went_in is not None and on < went_in:
        raise Refused(
            f"What is installed at {tag} went in on {went_in}; {on} is before that. Correct the day, or record the "
            "swap first.",
            field="on",
        )
    if tag.calibrations.filter(on=on).exists():
        raise Refused(f"A calibration of {tag} on {on} is recorded already. One a day can be kept.", field="on")


def _refuse_figures(tolerance: Decimal, uncertainty: Decimal | None) -> None:
    for field, figure in (("tolerance_percent", tolerance), ("standard_uncertainty_percent", uncertainty)):
        if figure is not None and not 0 < figure <= 100:
            raise Refused(
                f"{figure:f} % of span cannot be. Give a figure above 0 and at most 100 % of span.", field=field
            )


def _check(tag: Tag, percents: Sequence[float]) -> Check:
    loop = load_loop(tag.loop.number, today=timezone.localdate())
    try:
        return check_of(loop, loop.tag(tag.name), percents)
    except NothingToCheck as reason:
        raise Refused(str(reason)) from None


def _refuse_readings(check: Check, points: Collection[Reading]) -> None:
    """Raises ValidationError with every reading that is missing or that cannot be, under its field."""
    faults: dict[str, str] = {}
    read = {(one.way, one.percent): one for one in points}
    for state in STATES:
        for way in Way:
            run = [(other, percent) for other, percent in ways_of(check) if other == way]
            taken = {key: getattr(read[key], state) for key in run if key in read}
            if all(one is None for one in taken.values()):
                continue
            for _, percent in run:
                field, reading = field_of(state, way, percent), taken.get((way, percent))
                if reading is None:
                    faults[field] = f"The check has {len(run)} points {way.label}. Read this one too."
                elif not check.could_say(float(reading), percent):
                    faults[field] = (
                        f"{check.tag} cannot say {reading:f} {check.expected.symbol}: at this point "
                        f"{check.expected.shown(percent):f} is right. Check the unit and the decimal point; what "
                        "reads so far out is out of order and is replaced, not calibrated."
                    )
        if any(getattr(one, state) is not None for one in points if one.way == Way.DOWN):
            for percent in check.percents:
                if (one := read.get((Way.UP, percent))) is None or getattr(one, state) is None:
                    faults.setdefault(field_of(state, Way.UP, percent), "Read the points rising before those falling.")
    if not faults and all(getattr(one, state) is None for one in points for state in STATES):
        faults[field_of("as_found", Way.UP, check.percents[0])] = (
            f"Nothing was read. Read the {len(check.percents)} points of the check."
        )
    if faults:
        raise ValidationError(faults)


def _in_order(check: Check, points: Iterable[Reading]) -> list[Reading]:
    """The readings that were taken, in the order of the check."""
    read = {(one.way, one.percent): one for one in points if (one.as_found, one.as_left) != (None, None)}
    return [read[key] for key in ways_of(check) if key in read]


def _point(check: Check, one: Reading) -> CalibrationPoint:
    return CalibrationPoint(
        percent=Decimal(f"{one.percent:g}"),
        way=one.way,
        applied=check.applied.shown(one.percent),
        expected=check.expected.shown(one.percent),
        as_found=one.as_found,
        as_left=one.as_left,
        as_found_error_percent=_error_percent(check, one.as_found, one.percent),
        as_left_error_percent=_error_percent(check, one.as_left, one.percent),
    )


def _error_percent(check: Check, reading: Decimal | None, percent: float) -> Decimal | None:
    if reading is None:
        return None
    return Decimal(check.expected.error_percent(float(reading), percent)).quantize(_ERROR_PLACES)


def _error(row: CalibrationPoint, state: str) -> Decimal | None:
    return getattr(row, f"{state}_error_percent")
