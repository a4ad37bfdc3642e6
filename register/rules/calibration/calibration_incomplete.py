from __future__ import annotations

from collections.abc import Iterator

from register.calc.calibration import passes
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import CalibrationResult, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "calibration-incomplete",
    severity=Severity.WARNING,
    source="IEC 61298-2; ISA-51.1",
    wrong=sketch.calibrated_loop(points=3, as_found_recorded=False, worst_error_percent="0.31"),
    right=sketch.calibrated_loop(points=5, worst_error_percent="0.19"),
)
def calibration_incomplete(loop: Loop) -> Iterator[Finding]:
    """A calibration covers at least five points, both ways, as found before any adjustment, and every point passes.

    Why: the history of drift is lost, or an instrument that failed stays in service.

    Remedy: repeat the check in full; adjust or replace what fails.
    """
    for tag in loop.tags:
        record = tag.calibration
        if record is None:
            continue
        faults = []
        if record.points is not None and record.points < 5:
            faults.append(f"{record.points} points instead of five")
        if record.both_ways is False:
            faults.append("one way only")
        if record.as_found_recorded is False:
            faults.append("nothing recorded as found")
        worst, allowed = record.worst_error_percent, record.tolerance_percent
        if worst is not None and allowed and not passes(float(worst), float(allowed)):
            faults.append(f"{worst:f} % of span against {allowed:f} %")
        elif record.result != CalibrationResult.PASS:
            faults.append(f"its result is {record.result}")
        if faults:
            yield finding(tag, "calibration of {on}: {faults}", on=record.on, faults="; ".join(faults))
