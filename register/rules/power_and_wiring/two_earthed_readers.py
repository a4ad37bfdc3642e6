from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from register.calc.signals import SIGNALS
from register.plant import sketch
from register.plant.values import Connection, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "two-earthed-readers",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.series_loop(isolated=False),
    right=sketch.series_loop(isolated=True),
)
def two_earthed_readers(loop: Loop) -> Iterator[Finding]:
    """Of the readers in series on one current, all but one float from earth.

    Why: part of the current goes round a reader, and the readings differ.

    Remedy: fit an isolator, or a reader whose input floats.
    """
    by_output: dict[tuple[str, str], list[Connection]] = defaultdict(list)
    for one in loop.connections():
        signal = SIGNALS.get(one.source.signal)
        if signal is not None and signal.kind == "current":
            by_output[one.source_tag.name, one.source.name].append(one)
    for (name, port), readers in by_output.items():
        earthed = [
            one.target_tag.name
            for one in readers
            if (offered := one.target_tag.model_port(one.target)) is not None and offered.isolated is False
        ]
        if len(earthed) > 1:
            yield finding(
                name,
                "{readers} are in series on {port}, each with an earthed input",
                place=port,
                readers=" and ".join(sorted(earthed)),
                port=port,
            )
