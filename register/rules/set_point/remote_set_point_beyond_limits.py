from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import quantity
from register.rules.reading import read_range
from register.rules.set_point.remote_set_point_scaled_differently import with_ratio_and_bias


@rule(
    "remote-set-point-beyond-limits",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.cascade(), "TIC-102", set_point_high=sketch.number(150)),
    right=sketch.cascade(),
)
def remote_set_point_beyond_limits(loop: Loop) -> Iterator[Finding]:
    """A remote signal asks for nothing outside the set-point limits of the controller that follows it.

    Why: the follower clamps, the master is not told, and its integral winds up.

    Remedy: scale the remote signal within the limits, or widen the limits.
    """
    for one in loop.connections(Purpose.REMOTE_SET_POINT):
        settings, asked = one.target_tag.settings, read_range(one)
        if settings is None or settings.range is None or asked is None or not asked.comparable(settings.range):
            continue
        asked = with_ratio_and_bias(asked.in_unit_of(settings.range), settings)
        low, high = settings.set_point_low, settings.set_point_high
        if (low is not None and asked.low < low) or (high is not None and asked.high > high):
            yield finding(
                one.target_tag,
                "{port} can ask for {asked}; its set-point limits are {low} to {high}",
                place=one.target.name,
                port=one.target.name,
                asked=asked,
                low="—" if low is None else quantity(low, settings.range),
                high="—" if high is None else quantity(high, settings.range),
            )
