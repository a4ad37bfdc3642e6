from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.control import integral_time_s
from register.plant import sketch
from register.plant.values import Loop, Settings
from register.plant.words import Purpose, Role, Severity, TimeUnit
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
        if one.target_tag not in loop.tags or one.source_tag.role != Role.CONTROLLER:
            continue
        outer, inner = integral_s(one.source_tag.settings), integral_s(one.target_tag.settings)
        if outer is None or inner is None or outer >= inner * float(tolerance):
            continue
        yield finding(
            one.target_tag,
            "its integral time is {inner} s, that of {master} {outer} s: {ratio} times as quick",
            inner=rounded(inner),
            master=one.source_tag.name,
            outer=rounded(outer),
            ratio=rounded(outer / inner),
        )


def integral_s(settings: Settings | None) -> float | None:
    """Integral time in seconds; None where there is none, or its unit is not recorded."""
    if settings is None or not settings.integral or settings.time_unit is None:
        return None
    value = float(settings.integral)
    if settings.time_unit == TimeUnit.REPEATS_PER_MINUTE:
        return integral_time_s(value)
    return value * (60 if settings.time_unit == TimeUnit.MINUTES else 1)


def derivative_s(settings: Settings) -> float | None:
    """Derivative time in seconds; with repeats, it is typed in minutes."""
    if settings.derivative is None or settings.time_unit is None:
        return None
    return float(settings.derivative) * (1 if settings.time_unit == TimeUnit.SECONDS else 60)
