from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.input_and_range.root_not_extracted_once import reader_takes_root


@rule(
    "low-flow-cutoff-missing",
    severity=Severity.ADVICE,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.flow_loop(), "FIC-501", low_cutoff_percent=Decimal(0)),
    right=sketch.flow_loop(),
)
def low_flow_cutoff_missing(loop: Loop) -> Iterator[Finding]:
    """Where the root of a flow is extracted, there is a cut-off near zero, between 3 and 10 % of flow.

    Why: the root multiplies noise there, since 1 % of differential pressure is 10 % of flow: a zero shift of 0.05 %
    reads 2.2 % of flow for ever, and a totaliser creeps with the line shut.

    Remedy: set the cut-off where the root is extracted, usually to 6 % of flow.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        settings = one.target_tag.settings
        if settings is None or not reader_takes_root(one):
            continue
        cutoff = settings.low_cutoff_percent
        if cutoff is None:
            yield unknown(one.target_tag, "it extracts the root; its low-flow cut-off is not recorded")
        elif not 3 <= cutoff <= 10:
            yield finding(
                one.target_tag, "it extracts the root, and its low-flow cut-off is {cutoff} %", cutoff=f"{cutoff:f}"
            )
