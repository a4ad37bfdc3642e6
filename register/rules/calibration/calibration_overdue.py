from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown

DAYS_PER_MONTH = Decimal("30.4375")


@rule(
    "calibration-overdue",
    severity=Severity.WARNING,
    source="common practice, no source",
    tolerance=("10", "% of the interval as grace"),
    wrong=sketch.with_surroundings(sketch.calibrated_loop(), today=date(2026, 9, 1)),
    right=sketch.with_surroundings(sketch.calibrated_loop(), today=date(2026, 1, 15)),
)
def calibration_overdue(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """An instrument that has a calibration interval is calibrated within it, with a grace of a tenth at most.

    Why: drift goes undetected.

    Remedy: calibrate it; trips and what money is counted by come first.
    """
    today = loop.surroundings.today
    if today is None:
        return
    for tag in loop.tags:
        months = tag.calibration_interval_months
        if not months:
            continue
        if tag.calibration is None:
            yield unknown(tag, "its interval is {months} months, but no calibration is recorded", months=months)
            continue
        due = months_after(tag.calibration.on, months)
        grace = timedelta(days=int(months * DAYS_PER_MONTH * tolerance / 100))
        if today > due + grace:
            yield finding(
                tag,
                "it was due on {due}; calibrated last on {last}, every {months} months",
                due=due,
                last=tag.calibration.on,
                months=months,
            )


def months_after(day: date, months: int) -> date:
    """The same day of the month so many months on, or that month's last."""
    place = day.year * 12 + day.month - 1 + months
    year, month = divmod(place, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
