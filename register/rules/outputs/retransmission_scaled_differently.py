from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import misreading


@rule(
    "retransmission-scaled-differently",
    severity=Severity.WARNING,
    source="common practice, no source",
    tolerance=("0.1", "% of span"),
    wrong=sketch.recorder_loop(sent="0-1200 degC", read="0-1000 degC"),
    right=sketch.recorder_loop(sent="0-1200 degC", read="0-1200 degC"),
)
def retransmission_scaled_differently(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """A retransmission output and what reads it have the same scale.

    Why: the record disagrees with the instrument, and batches are disputed.

    Remedy: scale the output or the reader so that both ends of the signal mean the same.
    """
    for one in loop.connections(Purpose.RETRANSMISSION):
        if one.source.purpose != Purpose.RETRANSMISSION or one.target.purpose == Purpose.REMOTE_SET_POINT:
            continue
        sent, read = one.source.range or one.source_tag.range, one.target.range or one.target_tag.range
        if read is None:
            yield unknown(one.target_tag, "the range that it reads is not recorded", place=one.target.name)
        elif sent is not None and sent.comparable(read) and not read.matches(sent, tolerance):
            worst = misreading(one, sent, read)
            yield finding(
                one.target_tag,
                "{source} sends {sent}, {target} reads {read}"
                + (": at a true {true} it shows {shown}" if worst else ""),
                place=one.target.name,
                source=one.source_tag.name,
                sent=sent,
                target=one.target_tag.name,
                read=read,
                **({"true": worst.true, "shown": worst.shown} if worst else {}),
            )
