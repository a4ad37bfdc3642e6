from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule


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
        pieces = sorted(
            (one.target.split_low_percent, one.target.split_high_percent, one.target_tag.name)
            for one in loop.links_out_of(tag)
            if one.target.direction == Direction.IN
            and one.source.purpose in (Purpose.CONTROL, Purpose.COOLING_CONTROL)
            and one.target.split_low_percent is not None
            and one.target.split_high_percent is not None
        )
        for (_, first_ends, first), (second_begins, _, second) in pairwise(pieces):
            gap = second_begins - first_ends
            if gap < 0 or gap > tolerance:
                yield finding(
                    tag,
                    "{first} ends at {ends} %, {second} begins at {begins} %: {size} % {what}",
                    place=f"{first} and {second}",
                    first=first,
                    ends=f"{first_ends:f}",
                    second=second,
                    begins=f"{second_begins:f}",
                    size=f"{abs(gap):f}",
                    what="of overlap" if gap < 0 else "in which nothing acts",
                )
