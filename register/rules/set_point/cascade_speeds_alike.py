from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.tuning import times_s
from register.plant.values import Loop, Settings
from register.plant.words import PidForm, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded


@rule(
    "cascade-speeds-alike",
    severity=Severity.ADVICE,
    source="common practice, no source",
    tolerance=("3", "times"),
    wrong=sketch.with_settings(
        sketch.with_settings(sketch.cascade(), "TIC-110", integral=Decimal(90)), "TIC-102", integral=Decimal(60)
    ),
    right=sketch.with_settings(
        sketch.with_settings(sketch.cascade(), "TIC-110", integral=Decimal(240)), "TIC-102", integral=Decimal(10)
    ),
)
def cascade_speeds_alike(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """The inner loop of a cascade is clearly quicker than the outer: three times at least, better five to ten.

    Their integral times stand for the speeds.

    Why: loops of like speed fight, and swing slowly.

    Remedy: tune the inner loop quicker, then the outer one slower.
    """
    for one in loop.connections(Purpose.REMOTE_SET_POINT):
        master, follower = one.source_tag, one.target_tag
        if master.role != Role.CONTROLLER or follower.role != Role.CONTROLLER:
            continue
        outer, inner = integral_s(master.settings), integral_s(follower.settings)
        if not outer or not inner or outer >= inner * float(tolerance) * (1 - 1e-9):
            continue
        yield finding(
            follower,
            "its integral time is {inner} s, that of {master} {outer} s: {ratio} times as quick",
            place=one.target.name,
            inner=rounded(inner),
            master=master.name,
            outer=rounded(outer),
            ratio=rounded(outer / inner),
        )


def integral_s(settings: Settings | None) -> float:
    """Integral time in seconds; 0 where none is recorded with its unit. An integral gain alone is no time."""
    if settings is None or settings.time_unit is None or settings.pid_form == PidForm.PARALLEL:
        return 0.0
    return times_s(settings)[0]
