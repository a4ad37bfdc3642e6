from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.wiring import circuit, signal_kind


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
    seen = set()
    for one in loop.connections():
        at = (one.source_tag.name, one.source.name)
        if at in seen or signal_kind(one.source.signal) != "current":
            continue
        seen.add(at)
        readers = circuit(loop, one.source_tag, one.source).readers
        if len(readers) < 2:
            continue
        offered = {each.target_tag.name: each.target_tag.model_port(each.target) for each in readers}
        earthed = sorted(name for name, port in offered.items() if port is not None and port.isolated is False)
        unsaid = sorted(name for name, port in offered.items() if port is None or port.isolated is None)
        stated = {"port": one.source.name}
        if len(earthed) > 1:
            yield finding(
                one.source_tag,
                "{readers} are in series on {port}, each with an earthed input",
                place=one.source.name,
                readers=" and ".join(earthed),
                **stated,
            )
        elif unsaid and len(earthed) + len(unsaid) > 1:
            yield unknown(
                one.source_tag,
                "{count} readers are in series on {port}; whether the input of {readers} floats is not recorded",
                place=one.source.name,
                count=len(readers),
                readers=" and ".join(unsaid),
                **stated,
            )
