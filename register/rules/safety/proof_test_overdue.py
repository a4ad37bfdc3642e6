from __future__ import annotations

from collections.abc import Iterator

from register.calc.calibration import due_on
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown


@rule(
    "proof-test-overdue",
    severity=Severity.WARNING,
    source="IEC 61511-1",
    wrong=sketch.with_surroundings(sketch.trip_loop(), today=sketch.day("2026-08-10")),
    right=sketch.with_surroundings(sketch.trip_loop(), today=sketch.day("2025-12-10")),
)
def proof_test_overdue(loop: Loop) -> Iterator[Finding]:
    """A safety function is proof tested within its interval, without grace.

    Why: the probability of failure on demand no longer holds.

    Remedy: have it tested now by those who may; until then, say what protects instead.
    """
    safety, today = loop.safety, loop.surroundings.today
    if safety is None or today is None:
        return
    if safety.target_sil is None and not safety.proof_test_interval_months:
        return  # nothing says that it is tested
    missing = [
        what
        for what, fact in (
            ("how often it is tested", safety.proof_test_interval_months),
            ("when it was tested last", safety.last_proof_test),
        )
        if not fact
    ]
    if missing:
        yield unknown(
            loop,
            "it {claim}, but {missing} is not recorded",
            claim=f"claims SIL {safety.target_sil}" if safety.target_sil else "is proof tested",
            missing=" and ".join(missing),
        )
        return
    due = due_on(safety.last_proof_test, safety.proof_test_interval_months)
    if today > due:
        yield finding(
            loop,
            "its proof test was due on {due}; the last was on {last}, the interval is {months} months",
            due=due,
            last=safety.last_proof_test,
            months=safety.proof_test_interval_months,
        )
