from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.tuning import times_s
from register.plant.values import Loop
from register.plant.words import PidForm, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded


@rule(
    "derivative-implausible",
    severity=Severity.ADVICE,
    source="series form exists for Ti ≥ 4 Td; tuning rules",
    tolerance=("0.25", "of the integral time"),
    wrong=sketch.with_settings(
        sketch.temperature_loop(), "TIC-101", integral=sketch.number(20), derivative=sketch.number(15)
    ),
    right=sketch.with_settings(
        sketch.temperature_loop(), "TIC-101", integral=sketch.number(120), derivative=sketch.number(30)
    ),
)
def derivative_implausible(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """In the ideal form derivative time is at most a quarter of integral time, and that at least the dead time.

    Why: noise goes into the final element, and the loop cycles.

    Remedy: check the tuning's form and units, then tune again.
    """
    for tag in loop.controllers:
        settings = tag.settings
        if settings is None or settings.pid_form == PidForm.PARALLEL or not settings.integral:
            continue
        if settings.time_unit is None:
            continue
        integral, derivative = times_s(settings)
        if settings.pid_form in (None, PidForm.IDEAL) and derivative > integral * float(tolerance) * (1 + 1e-9):
            yield finding(
                tag,
                "its derivative time of {derivative} s is {ratio} of its integral time of {integral} s",
                place="derivative",
                derivative=rounded(derivative),
                ratio=rounded(derivative / integral),
                integral=rounded(integral),
            )
        if loop.dead_time_s is not None and integral < float(loop.dead_time_s):
            yield finding(
                tag,
                "its integral time of {integral} s is shorter than the dead time of {dead} s",
                place="integral",
                integral=rounded(integral),
                dead=f"{loop.dead_time_s:f}",
            )
