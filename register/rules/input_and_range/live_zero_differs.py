from __future__ import annotations

from collections.abc import Iterator

from register.calc.signals import SIGNALS, electrical_at, fraction_of
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded
from register.rules.reading import read_signal


@rule(
    "live-zero-differs",
    severity=Severity.ERROR,
    source="IEC 60381-1 (current), IEC 60381-2 (voltage)",
    wrong=sketch.with_settings(
        sketch.with_port(sketch.pressure_loop(), "PIC-201", "Input", signal="0-20mA"), "PIC-201", input_signal="0-20mA"
    ),
    right=sketch.pressure_loop(),
)
def live_zero_differs(loop: Loop) -> Iterator[Finding]:
    """Sender and receiver of a signal use the same span: 4–20 mA is not 0–20 mA.

    Why: a live zero read as a dead one makes 0 % look like 20 %, and the error shrinks to nothing at full scale, so a
    check at full scale does not find it.

    Remedy: set both ends to the same span; in new work the one with the live zero, which a broken wire cannot imitate.
    """
    for one in loop.connections():
        if one.source.signal == one.target.signal == read_signal(one):
            continue
        sent, read = SIGNALS.get(one.source.signal), SIGNALS.get(read_signal(one))
        if sent is None or read is None or sent == read or not (sent.is_span and read.is_span):
            continue
        if (sent.kind, sent.unit) != (read.kind, read.unit):
            continue
        zero, middle = (fraction_of(electrical_at(at, sent), read) * 100 for at in (0.0, 0.5))
        yield finding(
            one.target_tag,
            "{source} sends {sent}, {port} reads {read}: at 0 % it shows {zero} %, at 50 % it shows {middle} %",
            place=one.target.name,
            source=one.source_tag.name,
            port=one.target.name,
            sent=sent.label,
            read=read.label,
            zero=rounded(zero),
            middle=rounded(middle),
        )
