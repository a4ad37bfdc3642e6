from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.input_and_range.root_not_extracted_once import is_head_to_flow


@rule(
    "ends-of-different-dimension",
    severity=Severity.ERROR,
    source="NIST SP 811; ISO 80000",
    wrong=sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", range=sketch.span("0-10 bar (absolute)")),
    right=sketch.pressure_loop(),
)
def ends_of_different_dimension(loop: Loop) -> Iterator[Finding]:
    """Both ends of a signal speak of one quantity, gauge, absolute and differential pressure kept apart.

    Why: equal numbers hide a factor, or an offset of one atmosphere.

    Remedy: record both ends in units of one dimension, gauge, absolute and differential pressure kept apart.
    """
    for one in loop.connections():
        if one.source.purpose not in (Purpose.MEASUREMENT, Purpose.REMOTE_SET_POINT, Purpose.RETRANSMISSION):
            continue
        read = one.target.range or one.target_tag.range
        sent = one.source.range
        if sent is None or read is None or sent.comparable(read) or is_head_to_flow(sent, read):
            continue
        yield finding(
            one.target_tag,
            "{source} sends {sent}, {port} reads {read}",
            place=one.target.name,
            source=one.source_tag.name,
            port=one.target.name,
            sent=sent,
            read=read,
        )
