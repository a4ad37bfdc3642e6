from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import misreading
from register.rules.reading import SENSOR_KINDS, passes_on, read_range, sent_range


@rule(
    "ends-scaled-differently",
    severity=Severity.ERROR,
    source="common practice, no source",
    tolerance=("0.1", "% of span"),
    wrong=sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", range=sketch.span("0-8 bar (gauge)")),
    right=sketch.pressure_loop(),
)
def ends_scaled_differently(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """A transmitter and what reads it give the ends of the signal the same values.

    This is the commonest single fault of a register: the transmitter was re-ranged or replaced, the controller was not.
    A barrier or an isolator that states no range passes on what enters it.

    Why: indication, alarms and control are out in proportion, with no fault shown.

    Remedy: scale the transmitter or the input so that both ends of the signal mean the same at both ends.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        if (
            one.source.purpose != Purpose.MEASUREMENT
            or one.source.signal.startswith(SENSOR_KINDS)
            or passes_on(one.target_tag)
        ):
            continue
        sent, read = sent_range(loop, one), read_range(one)
        if sent is None:
            yield unknown(
                one.target_tag,
                "the range that {source} sends it is not recorded",
                place=one.target.name,
                source=one.source_tag.name,
            )
        elif read is None:
            yield unknown(one.target_tag, "the range that it reads is not recorded", place=one.target.name)
        elif sent.comparable(read) and not read.matches(sent, tolerance):
            # that the two are not of one dimension is another rule's
            worst = misreading(one, sent, read)
            yield finding(
                one.target_tag,
                "{source} sends {sent}, {target} reads {read}"
                + (": at a true {true} it shows {shown}, {error} % of span out" if worst else ""),
                place=one.target.name,
                source=one.source_tag.name,
                target=one.target_tag.name,
                sent=sent,
                read=read,
                **({"true": worst.true, "shown": worst.shown, "error": worst.error_percent} if worst else {}),
            )
