from __future__ import annotations

from collections.abc import Iterator

from register.calc.signals import SIGNALS
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule

SWITCHING = ("contact", "mains switch")


@rule(
    "signals-of-different-kind",
    severity=Severity.ERROR,
    source="IEC 60381-1 and -2; IEC 60382",
    wrong=sketch.with_port(sketch.temperature_loop(), "TV-101", "Signal", signal="3-15psi"),
    right=sketch.temperature_loop(),
)
def signals_of_different_kind(loop: Loop) -> Iterator[Finding]:
    """An output and what it drives speak the same kind of signal.

    A milliamp output on a volt input needs a resistor across it, of 250 Ω for 4–20 mA into 1–5 V; 3–15 psi and
    0.2–1.0 bar are not the same: 1.034 bar against 1.0 at the top.

    Why: the final element never moves, moves to the wrong place, or is damaged.

    Remedy: fit a board that makes the signal, or a converter, or the resistor.
    """
    for one in loop.connections():
        sent, read = SIGNALS.get(one.source.signal), SIGNALS.get(one.target.signal)
        if sent is None or read is None or sent == read:
            continue
        if sent.kind in SWITCHING and read.kind in (*SWITCHING, "mains"):
            continue
        if sent.is_span and read.is_span and (sent.kind, sent.unit) == (read.kind, read.unit):
            continue  # another rule compares their zeros
        if sent.kind in ("thermocouple", "resistance thermometer") and read.kind == sent.kind:
            continue  # another rule says what the wrong linearisation reads
        if sent.kind == "current" and read.kind == "voltage" and fits_by_shunt(one.link.shunt_ohm, sent, read):
            continue
        yield finding(
            one.target_tag,
            "{source} {source_port} gives {sent}, {port} takes {read}",
            place=one.target.name,
            source=one.source_tag.name,
            source_port=one.source.name,
            sent=sent.label,
            port=one.target.name,
            read=read.label,
        )


def fits_by_shunt(shunt_ohm, sent, read) -> bool:
    """Whether a resistor makes the current's span that voltage's, within 0.5 %."""
    if shunt_ohm is None:
        return False
    return all(
        abs(milliamps * shunt_ohm / 1000 - volts) <= read.span / 200
        for milliamps, volts in ((sent.low, read.low), (sent.high, read.high))
    )
