from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.calibration import accuracy_ratio
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded


@rule(
    "standard-not-good-enough",
    severity=Severity.ADVICE,
    source="4:1 custom (ANSI/NCSL Z540.3, from memory)",
    tolerance=("4", "times better"),
    wrong=sketch.calibrated_loop(
        tolerance_percent="0.1", standard_uncertainty_percent="0.04", worst_error_percent="0.05"
    ),
    right=sketch.calibrated_loop(tolerance_percent="0.25", standard_uncertainty_percent="0.05"),
)
def standard_not_good_enough(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """The standard is four times better than the tolerance under test, or the shortfall goes into a guard band.

    Why: pass and fail are decided by chance.

    Remedy: use a better standard, or narrow the limit by its uncertainty.
    """
    for tag in loop.tags:
        record = tag.calibration
        if record is None or not record.tolerance_percent or not record.standard_uncertainty_percent:
            continue
        ratio = accuracy_ratio(float(record.tolerance_percent), float(record.standard_uncertainty_percent))
        if ratio < float(tolerance) * (1 - 1e-9):
            yield finding(
                tag,
                "tolerance {allowed} %, standard {standard} %: {ratio} to 1",
                allowed=f"{record.tolerance_percent:f}",
                standard=f"{record.standard_uncertainty_percent:f}",
                ratio=rounded(ratio),
            )
