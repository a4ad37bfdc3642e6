from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "calibrated-range-is-not-working-range",
    severity=Severity.ERROR,
    source="ISO/IEC 17025; common practice",
    tolerance=("0.1", "% of span"),
    wrong=sketch.calibrated_loop(calibrated="0-16 bar (gauge)"),
    right=sketch.calibrated_loop(),
)
def calibrated_range_is_not_working_range(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """The range on the calibration record is the range in use.

    Why: re-ranging ends the validity of the record: it certifies something else.

    Remedy: calibrate at the range in use.
    """
    for tag in loop.tags:
        calibrated, working = tag.calibration.range if tag.calibration else None, tag.range
        if calibrated is not None and working is not None and not working.matches(calibrated, tolerance):
            yield finding(
                tag, "it was calibrated {calibrated} and works {working}", calibrated=calibrated, working=working
            )
