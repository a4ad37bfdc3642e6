from __future__ import annotations

from collections.abc import Iterator

from register.calc.reliability import HOURS_PER_YEAR, pfd_simplified, sil_band
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown


@rule(
    "sil-target-missed",
    severity=Severity.ERROR,
    source="IEC 61508-1 bands; IEC 61508-6 annex B, simplified, 1oo1",
    wrong=sketch.trip_loop(final_failures="2.5e-6"),
    right=sketch.trip_loop(final_failures="1.5e-6"),
)
def sil_target_missed(loop: Loop) -> Iterator[Finding]:
    """Sensor, logic and final element together fail on demand less often than the target allows.

    The final element usually dominates. Architecture limits apply besides; the safety specification decides.

    Why: risk is not reduced as claimed.

    Remedy: test more often, fit a better or a second final element; have the calculation made by competent people.
    """
    safety = loop.safety
    if safety is None or safety.target_sil is None:
        return
    failures, months = safety.final_element_failures_per_hour, safety.proof_test_interval_months
    final = None
    if failures is not None and months:
        final = pfd_simplified("1oo1", float(failures), months * HOURS_PER_YEAR / 12)
    parts = {
        "sensor": None if safety.sensor_pfd is None else float(safety.sensor_pfd),
        "logic": None if safety.logic_pfd is None else float(safety.logic_pfd),
        "final element": final,
    }
    known = {name: part for name, part in parts.items() if part is not None}
    missing = sorted(parts.keys() - known.keys())
    total = sum(known.values())
    reached = sil_band(total)
    if reached is None or reached < safety.target_sil:
        yield finding(
            loop,
            "SIL {target} is the target; {parts} make {total}: {reached}",
            target=safety.target_sil,
            parts=", ".join(f"{name} {part:.5f}" for name, part in known.items()),
            total=f"{total:.5f}",
            reached=f"SIL {reached}" if reached else "no SIL",
        )
    elif missing:
        yield unknown(
            loop,
            "it claims SIL {target}, but how often {missing} fails on demand is not recorded",
            target=safety.target_sil,
            missing=" and ".join(missing),
        )
