from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise

from register.plant import sketch
from register.plant.values import Connection, Loop
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule, unknown

MEET_WITHIN = 1
"""Per cent of output by which pieces may overlap and still count as meeting."""


@rule(
    "split-range-does-not-meet",
    severity=Severity.WARNING,
    source="common practice, no source",
    tolerance=("5", "% of output"),
    wrong=sketch.split_range_loop(first=("0", "55"), second=("45", "100")),
    right=sketch.split_range_loop(first=("0", "49"), second=("51", "100")),
)
def split_range_does_not_meet(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """The pieces of a split range meet at one point, or leave a small gap that is meant.

    Why: an overlap heats and cools at once; a wide gap is a dead zone in which nothing acts.

    Remedy: set the pieces to meet, or to a gap of 1 to 5 % of output.
    """
    for tag in loop.controllers:
        for port in tag.ports:
            if port.direction != Direction.OUT or port.purpose not in (Purpose.CONTROL, Purpose.COOLING_CONTROL):
                continue
            driven = [one for one in loop.links_out_of(tag) if one.source is port]
            if len(driven) < 2 or not any(covers(one) for one in driven):
                continue
            unsaid = sorted(one.target_tag.name for one in driven if not covers(one))
            if unsaid:
                yield unknown(
                    tag,
                    "which part of {port} {names} covers is not recorded",
                    place=port.name,
                    port=port.name,
                    names=" and ".join(unsaid),
                )
            pieces = sorted((*covers(one), one.target_tag.name) for one in driven if covers(one))
            for (_, ends, first), (begins, _, second) in pairwise(pieces):
                gap = begins - ends
                if -MEET_WITHIN <= gap <= tolerance:
                    continue
                yield finding(
                    tag,
                    "{first} ends at {ends} %, {second} begins at {begins} %: {size} % {what}",
                    place=f"{first} and {second}",
                    first=first,
                    ends=f"{ends:f}",
                    second=second,
                    begins=f"{begins:f}",
                    size=f"{abs(gap):f}",
                    what="of overlap" if gap < 0 else "in which nothing acts",
                )


def covers(one: Connection) -> tuple[Decimal, Decimal] | None:
    """The part of the output that a target covers; None where it is not recorded."""
    low, high = one.target.split_low_percent, one.target.split_high_percent
    return None if low is None or high is None else (low, high)
