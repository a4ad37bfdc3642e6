from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.signals import SIGNALS, Signal
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded
from register.rules.reading import SENSOR_KINDS, read_signal

SWITCHING = ("contact", "mains switch", "mains")


@rule(
    "signals-of-different-kind",
    severity=Severity.ERROR,
    source="IEC 60381-1 and -2; IEC 60382",
    tolerance=("0.1", "% of span by a resistor"),
    wrong=sketch.with_port(sketch.temperature_loop(), "TV-101", "Signal", signal="3-15psi"),
    right=sketch.temperature_loop(),
)
def signals_of_different_kind(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """An output and what it drives or tells speak the same kind of signal.

    A milliamp output on a volt input needs a resistor across it, of 250 Ω for 4–20 mA into 1–5 V.

    Why: the loop is dead, the final element never moves or moves to the wrong place, or something is damaged.

    Remedy: fit a board that makes the signal, a converter between the two, or the resistor.
    """
    for one in loop.connections():
        if one.source.signal == one.target.signal == read_signal(one) or one.source.signal.startswith(SENSOR_KINDS):
            continue  # what the wrong linearisation of a sensor reads is another rule's
        sent, read = SIGNALS.get(one.source.signal), SIGNALS.get(read_signal(one))
        if sent is None or read is None or sent.kind == read.kind or {sent.kind, read.kind} <= set(SWITCHING):
            continue
        stated = {
            "source": f"{one.source_tag.name} {one.source.name}",
            "sent": sent.label,
            "port": one.target.name,
            "read": read.label,
        }
        if sent.kind == "current" and read.kind == "voltage" and one.link.shunt_ohm is not None:
            low, high = volts_across(one.link.shunt_ohm, sent)
            allowed = read.span * tolerance / 100
            if abs(low - read.low) > allowed or abs(high - read.high) > allowed:
                yield finding(
                    one.target_tag,
                    "{source} gives {sent}; across {shunt} Ω that is {low} to {high} V, {port} takes {read}",
                    place=one.target.name,
                    shunt=f"{one.link.shunt_ohm:f}",
                    low=rounded(low),
                    high=rounded(high),
                    **stated,
                )
        else:
            yield finding(one.target_tag, "{source} gives {sent}, {port} takes {read}", place=one.target.name, **stated)


def volts_across(shunt_ohm: Decimal, sent: Signal) -> tuple[Decimal, Decimal]:
    """The ends of a current's span across a resistor."""
    return sent.low * shunt_ohm / 1000, sent.high * shunt_ohm / 1000
