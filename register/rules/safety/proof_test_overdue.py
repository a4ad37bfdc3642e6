from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.calibration.calibration_overdue import months_after
from register.rules.engine import Finding, finding, rule, unknown


@rule(
    "proof-test-overdue",
    severity=Severity.ERROR,
    source="IEC 61511-1",
    wrong=sketch.with_surroundings(sketch.trip_loop(), today=date(2026, 8, 10)),
    right=sketch.with_surroundings(sketch.trip_loop(), today=date(2025, 12, 10)),
)
def proof_test_overdue(loop: Loop) -> Iterator[Finding]:
    """A safety function is proof tested within its interval, without grace.

    Why: the probability of failure on demand no longer holds.

    Remedy: test now; until then, say what protects instead.
    """
    safety, today = loop.safety, loop.surroundings.today
    if safety is None or today is None:
        return
    if safety.proof_test_interval_months is None or safety.last_proof_test is None:
        yield unknown(
            loop,
            "it claims SIL {target}, but its last proof test or the interval is not recorded",
            target=safety.target_sil,
        )
        return
    due = months_after(safety.last_proof_test, safety.proof_test_interval_months)
    if today > due:
        yield finding(
            loop,
            "its proof test was due on {due}; the last was on {last}, the interval is {months} months",
            due=due,
            last=safety.last_proof_test,
            months=safety.proof_test_interval_months,
        )
