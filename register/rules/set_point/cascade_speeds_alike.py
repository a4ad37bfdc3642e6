from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import PidForm, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded
from register.rules.tunings import integral_s


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
        if outer is None or inner is None or outer >= inner * float(tolerance) * (1 - 1e-9):
            continue
        if PidForm.PARALLEL in (master.settings.pid_form, follower.settings.pid_form):
            continue  # an integral gain alone is no time
        yield finding(
            follower,
            "its integral time is {inner} s, that of {master} {outer} s: {ratio} times as quick",
            place=one.target.name,
            inner=rounded(inner),
            master=master.name,
            outer=rounded(outer),
            ratio=rounded(outer / inner),
        )
