from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "alarm-drives-nothing",
    severity=Severity.WARNING,
    source="ISA-18.2",
    wrong=sketch.with_alarm(sketch.temperature_loop(), "TIC-101", "Alarm 1", output=""),
    right=sketch.temperature_loop(),
)
def alarm_drives_nothing(loop: Loop) -> Iterator[Finding]:
    """Every alarm ends at something: a relay, a lamp, a digital input, a message.

    Why: a silent alarm protects nobody.

    Remedy: assign the alarm to an output that exists, or delete it if nobody needs it.
    """
    for tag in loop.tags:
        for alarm in tag.alarms:
            stated = {"alarm": alarm.name, "kind": alarm.kind}
            if not alarm.output:
                yield finding(tag, "{alarm} ({kind}) drives no output", place=alarm.name, **stated)
            elif tag.port(alarm.output) is None:
                yield finding(
                    tag,
                    "{alarm} ({kind}) drives {output}, which the tag has not",
                    place=alarm.name,
                    output=alarm.output,
                    **stated,
                )
