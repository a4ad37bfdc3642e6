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
    """The failures on demand of sensor, logic and final element add up to less than the target allows.

    The final element usually dominates. Architecture limits apply besides; the safety specification decides.

    Why: risk is not reduced as claimed.

    Remedy: test more often, fit a better or a second final element; have the calculation made by competent people.
    """
    safety = loop.safety
    if safety is None:
        return
    parts = (
        safety.sensor_pfd,
        safety.logic_pfd,
        safety.final_element_failures_per_hour,
        safety.proof_test_interval_months,
    )
    if None in parts:
        yield unknown(
            loop, "it claims SIL {target}, but not all parts of its calculation are recorded", target=safety.target_sil
        )
        return
    interval_h = float(safety.proof_test_interval_months) * HOURS_PER_YEAR / 12
    final = pfd_simplified("1oo1", float(safety.final_element_failures_per_hour), interval_h)
    total = float(safety.sensor_pfd) + float(safety.logic_pfd) + final
    reached = sil_band(total)
    if reached is None or reached < safety.target_sil:
        yield finding(
            loop,
            "SIL {target} is the target; sensor {sensor}, logic {logic} and final element {final} make "
            "{total}: {reached}",
            target=safety.target_sil,
            sensor=safety.sensor_pfd,
            logic=safety.logic_pfd,
            final=f"{final:.5f}",
            total=f"{total:.5f}",
            reached=f"SIL {reached}" if reached else "no SIL",
        )
