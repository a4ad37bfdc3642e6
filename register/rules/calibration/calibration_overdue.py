from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

from register.calc.calibration import due_on
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown


@rule(
    "calibration-overdue",
    severity=Severity.WARNING,
    source="common practice, no source",
    tolerance=("10", "% of the interval as grace"),
    wrong=sketch.with_surroundings(sketch.calibrated_loop(), today=sketch.day("2026-09-10")),
    right=sketch.with_surroundings(sketch.calibrated_loop(), today=sketch.day("2026-01-10")),
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
        last = tag.calibration.on
        due = due_on(last, months)
        grace = timedelta(days=int((due - last).days * tolerance / 100))
        if today > due + grace:
            yield finding(
                tag,
                "it was due on {due}; calibrated last on {last}, every {months} months",
                due=due,
                last=last,
                months=months,
            )
