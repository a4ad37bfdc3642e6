from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from register.calc.ranges import Range
from register.calc.units import absolute_of_gauge
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import difference
from register.rules.reading import read_range, sent_range

COMPARED = (Purpose.MEASUREMENT, Purpose.REMOTE_SET_POINT, Purpose.RETRANSMISSION)
INFERRED = (
    {"pressure", "volume flow", "mass flow", "velocity"},
    {"pressure", "length", "volume", "mass", "force"},
)
"""Quantities that are told one from another: flow from a head, contents from a level, a pressure or a weight."""


@rule(
    "ends-of-different-dimension",
    severity=Severity.ERROR,
    source="NIST SP 811; ISO 80000",
    wrong=sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", range=sketch.span("0-10 bar (absolute)")),
    right=sketch.pressure_loop(),
)
def ends_of_different_dimension(loop: Loop) -> Iterator[Finding]:
    """Both ends of a signal speak of one quantity, gauge and absolute pressure kept apart.

    Per cent goes with anything. A flow may be told from a differential pressure, what is in a vessel from a level, a
    pressure or a weight; a differential pressure whose other side is open is a gauge pressure.

    Why: equal numbers hide a factor, or an offset of one atmosphere, 1.013 bar.

    Remedy: record what each end is really scaled to, with gauge or absolute beside the unit; rescale the wrong end.
    """
    for one in loop.connections():
        if one.source.purpose not in COMPARED and one.target.purpose not in COMPARED:
            continue
        sent, read = sent_range(loop, one), read_range(one)
        if sent is None or read is None or go_together(sent, read):
            continue
        apart = {}
        if {sent.reference, read.reference} == {"gauge", "absolute"}:
            apart["atmosphere"] = difference(absolute_of_gauge(Decimal(0), read.unit), replace(read, reference=""))
        yield finding(
            one.target_tag,
            "{source} sends {sent}, {port} reads {read}" + (": {atmosphere} apart" if apart else ""),
            place=one.target.name,
            source=one.source_tag.name,
            port=one.target.name,
            sent=sent,
            read=read,
            **apart,
        )


def go_together(sent: Range, read: Range) -> bool:
    if sent.comparable(read):
        return True
    dimensions = {sent.dimension, read.dimension}
    if len(dimensions) == 1:
        return dimensions == {"pressure"} and {sent.reference, read.reference} == {"gauge", "differential"}
    if any(one.endswith("fraction") for one in dimensions):
        return True
    return any(dimensions <= group for group in INFERRED)
