from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.reading import measuring_input, sent_range


@rule(
    "settings-contradict-port",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.with_port(sketch.temperature_loop(), "TIC-101", "Input", range=sketch.span("0-250 degC")),
    right=sketch.temperature_loop(),
)
def settings_contradict_port(loop: Loop) -> Iterator[Finding]:
    """What an input is set to is what the register asks of its port: one signal, one range.

    Where the sender agrees with the port, the rules that compare sender and reader say what is wrong.

    Why: the sheet says two things, and whoever keys the settings in after a swap must guess.

    Remedy: find out which is meant, and correct the other.
    """
    for tag in loop.tags:
        settings, port = tag.settings, measuring_input(tag)
        if settings is None or port is None:
            continue
        senders = [one for one in loop.links_into(tag) if one.target is port]
        stated = {"port": port.name}
        if (
            settings.input_signal
            and port.signal
            and settings.input_signal != port.signal
            and not any(one.source.signal == port.signal for one in senders)
        ):
            yield finding(
                tag,
                "{port} is recorded for {recorded}, and set to {set_to}",
                place="signal",
                recorded=signal_label(port.signal),
                set_to=signal_label(settings.input_signal),
                **stated,
            )
        if (
            settings.range
            and port.range
            and not settings.range.matches(port.range)
            and not any((sent := sent_range(loop, one)) and port.range.matches(sent) for one in senders)
        ):
            yield finding(
                tag,
                "{port} is recorded for {recorded}, and set to {set_to}",
                place="range",
                recorded=port.range,
                set_to=settings.range,
                **stated,
            )
