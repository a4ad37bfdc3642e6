from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import Loop
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.reading import measuring_input


@rule(
    "input-not-taken",
    severity=Severity.ERROR,
    source="IEC 60381-1 and -2; the model's data sheet",
    wrong=sketch.with_model(sketch.type_b_loop(), "TIC-302", ports=sketch.controller_model().ports),
    right=sketch.type_b_loop(),
)
def input_not_taken(loop: Loop) -> Iterator[Finding]:
    """A measuring input takes the signal that is wired to it and that it is set to.

    Why: a millivolt, resistance, milliamp or volt signal needs an input made for that kind; on another the loop is
    dead, or the input is damaged.

    Remedy: fit a model or board whose input takes the signal, or a converter between the two.
    """
    for tag in loop.tags:
        main = measuring_input(tag)
        for port in tag.ports_for(Purpose.MEASUREMENT, Direction.IN):
            provider = tag.provider(port)
            if provider is None:
                continue
            offered = [one for one in provider.ports if one.direction == Direction.IN and port.purpose in one.purposes]
            taken = {each.signal for one in offered for each in one.signals}
            set_to = tag.settings.input_signal if tag.settings and port is main else ""
            wanted = next((signal for signal in (port.signal, set_to) if signal and signal not in taken), "")
            if taken and wanted:
                yield finding(
                    tag,
                    "{port} needs {signal}, which {model} does not take; it takes {taken}",
                    place=port.name,
                    port=port.name,
                    signal=signal_label(wanted),
                    model=provider,
                    taken=", ".join(signal_label(key) for key in sorted(taken)),
                )
