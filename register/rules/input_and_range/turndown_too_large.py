from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Role, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded


@rule(
    "turndown-too-large",
    severity=Severity.ADVICE,
    source="makers' data; one tenth is common practice, no source",
    tolerance=("10", "times"),
    wrong=sketch.with_model(
        sketch.with_settings(sketch.pressure_loop(range_="0-0.25 bar (gauge)"), "PIC-201", decimals=3),
        "PT-201",
        minimum_span=None,
        range_limits=sketch.span("0-25 bar (gauge)"),
    ),
    right=sketch.with_model(sketch.pressure_loop(range_="0-4 bar (gauge)"), "PT-201", minimum_span=None),
)
def turndown_too_large(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """A transmitter's span is at least its data sheet's least span or, without one, a tenth of its upper range limit.

    Why: part of the error is fixed in units, so at a small span it is several times the headline figure.

    Remedy: fit a cell of a lower range.
    """
    for tag in loop.with_role(Role.TRANSMITTER):
        limits, measured = tag.model.range_limits if tag.model else None, tag.range
        if limits is None or measured is None or not limits.comparable(measured):
            continue
        span = measured.in_unit_of(limits).span
        reach = max(abs(limits.low), abs(limits.high))
        least = tag.model.minimum_span if tag.model.minimum_span is not None else reach / tolerance
        if span < least:
            yield finding(
                tag,
                "a span of {range} on {limits} is {ratio}:1",
                range=measured,
                limits=limits,
                ratio=rounded(reach / span),
            )
