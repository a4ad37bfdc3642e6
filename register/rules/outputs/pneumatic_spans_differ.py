from __future__ import annotations

from collections.abc import Iterator

from register.calc.signals import SIGNALS
from register.calc.units import convert
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded


@rule(
    "pneumatic-spans-differ",
    severity=Severity.WARNING,
    source="IEC 60382:1991; ANSI/ISA-S7.4",
    wrong=sketch.pneumatic_loop("3-15psi", "0.2-1bar"),
    right=sketch.pneumatic_loop("0.2-1bar", "0.2-1bar"),
)
def pneumatic_spans_differ(loop: Loop) -> Iterator[Finding]:
    """A converter and the positioner that it drives work over the same pressures.

    3–15 psi and 0.2–1.0 bar are not one signal: 15 psi is 1.034 bar.

    Why: the valve is fully open before the signal ends; between spans of double pressure it opens half.

    Remedy: set the positioner to the converter's span, or fit a pair of one kind.
    """
    for one in loop.connections():
        sent, read = SIGNALS.get(one.source.signal), SIGNALS.get(one.target.signal)
        if sent is None or read is None or sent == read or not sent.kind == read.kind == "pneumatic":
            continue
        ends = [convert(end, sent.unit, read.unit) for end in (sent.low, sent.high)]
        at_zero, at_full = ((end - read.low) * 100 / read.span for end in ends)
        yield finding(
            one.target_tag,
            "{source} gives {sent}, {port} takes {read}: at 0 % it stands at {zero} %, at 100 % at {full} %",
            place=one.target.name,
            source=one.source_tag.name,
            sent=sent.label,
            port=one.target.name,
            read=read.label,
            zero=rounded(round(at_zero, 1)),
            full=rounded(round(at_full, 1)),
        )
