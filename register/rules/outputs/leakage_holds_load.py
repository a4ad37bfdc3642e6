from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "leakage-holds-load",
    severity=Severity.ADVICE,
    source="common practice, no source",
    tolerance=("5", "times the leakage"),
    wrong=sketch.triac_loop(load_a="0.004"),
    right=sketch.triac_loop(load_a="0.045"),
)
def leakage_holds_load(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """What a triac or solid-state output switches takes at least five times what leaks through it when it is off.

    Why: a very small coil or a lamp stays in, and the output seems stuck on.

    Remedy: put a load resistor across the coil, or use a relay contact.
    """
    for one in loop.connections():
        switch, load = one.source_tag.model_port(one.source), one.target_tag.model_port(one.target)
        if switch is None or load is None or switch.leakage_ma is None or load.load_a is None:
            continue
        if load.load_a * 1000 < switch.leakage_ma * tolerance:
            yield finding(
                one.source_tag,
                "{port} leaks {leakage} mA when off; {target} takes {load} mA",
                place=one.source.name,
                port=one.source.name,
                leakage=f"{switch.leakage_ma:f}",
                target=one.target_tag.name,
                load=f"{(load.load_a * 1000).normalize():f}",
            )
