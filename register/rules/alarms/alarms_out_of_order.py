from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.alarms.alarm_outside_range import ABSOLUTE
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import quantity


@rule(
    "alarms-out-of-order",
    severity=Severity.ADVICE,
    source="ISA-18.2",
    wrong=sketch.alarm_pair_loop(high="90", high_high="88"),
    right=sketch.alarm_pair_loop(high="85", high_high="92"),
)
def alarms_out_of_order(loop: Loop) -> Iterator[Finding]:
    """Low-low, low, high and high-high stand in that order, further apart than their dead bands.

    Why: the trip comes before the warning, or two alarms sound as one.

    Remedy: set the alarms in ascending order, with time for the operator between warning and trip.
    """
    for tag in loop.tags:
        measured = tag.range
        standing = sorted(
            (alarm for alarm in tag.alarms if alarm.kind in ABSOLUTE and alarm.set_point is not None),
            key=lambda alarm: (ABSOLUTE.index(alarm.kind), alarm.set_point, alarm.name),
        )
        if measured is None:
            continue  # without a range, another rule says what is missing
        for lower, upper in pairwise(standing):
            if lower.kind == upper.kind:
                continue
            room = upper.set_point - lower.set_point
            band = max(lower.deadband or 0, upper.deadband or 0)
            if room > 0 and room >= band:
                continue
            yield finding(
                tag,
                "{lower} ({lower_kind}) at {lower_at} is "
                + ("not below" if room <= 0 else "nearer than the dead band to")
                + " {upper} ({upper_kind}) at {upper_at}",
                place=f"{lower.name} and {upper.name}",
                lower=lower.name,
                lower_kind=lower.kind,
                lower_at=quantity(lower.set_point, measured),
                upper=upper.name,
                upper_kind=upper.kind,
                upper_at=quantity(upper.set_point, measured),
            )
