from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "alarm-output-without-alarm",
    severity=Severity.ADVICE,
    source="common practice, no source",
    wrong=sketch.with_tag(sketch.temperature_loop(), "TIC-101", alarms=()),
    right=sketch.temperature_loop(),
)
def alarm_output_without_alarm(loop: Loop) -> Iterator[Finding]:
    """An output for alarms has an alarm that drives it.

    Where an alarm drives nothing, that is said instead.

    Why: somebody relies on a lamp or a trip that nothing works.

    Remedy: assign the alarm that is meant, or take the output away.
    """
    for tag in loop.tags:
        driving = {alarm.output for alarm in tag.alarms}
        if "" in driving:
            continue
        for port in tag.ports_for(Purpose.ALARM, Direction.OUT):
            if port.name not in driving:
                yield finding(tag, "no alarm drives {port}", place=port.name, port=port.name)
