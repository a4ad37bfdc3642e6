from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "low-flow-cutoff-missing",
    severity=Severity.ADVICE,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.flow_loop(), "FIC-501", low_cutoff_percent=Decimal(0)),
    right=sketch.flow_loop(),
)
def low_flow_cutoff_missing(loop: Loop) -> Iterator[Finding]:
    """A flow whose root is extracted has a cut-off near zero, between 3 and 10 % of flow.

    Why: the root multiplies noise there, since 1 % of differential pressure is 10 % of flow: a zero shift of 0.05 %
    reads 2.2 % of flow for ever, and a totaliser creeps with the line shut.

    Remedy: set the cut-off where the root is extracted, usually to 6 % of flow.
    """
    for tag in loop.tags:
        settings = tag.settings
        if settings is None or not settings.square_root or not tag.ports_for(Purpose.MEASUREMENT):
            continue
        cutoff = settings.low_cutoff_percent
        if cutoff is None or not 3 <= cutoff <= 10:
            yield finding(
                tag,
                "the root is extracted here and the cut-off is {cutoff}",
                cutoff="not set" if not cutoff else f"{cutoff:f} %",
            )
