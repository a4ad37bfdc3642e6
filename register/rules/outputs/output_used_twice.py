from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "output-used-twice",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_port(sketch.temperature_loop(), "TIC-101", "Output 1", bay="2", signal="relay-contact"),
    right=sketch.temperature_loop(),
)
def output_used_twice(loop: Loop) -> Iterator[Finding]:
    """One output of a board does one thing: it does not control and alarm, and carries one trip or alarms of one kind.

    Why: the alarm switches the heat, or a trip cannot be told from a warning.

    Remedy: give each function an output of its own.
    """
    for tag in loop.tags:
        by_board: dict[tuple[str, str], list[str]] = {}
        for port in tag.ports:
            offered = tag.model_port(port) if port.bay else None
            if offered is not None:
                by_board.setdefault((port.bay, offered.name), []).append(port.name)
        for (bay, name), ports in by_board.items():
            if len(ports) > 1:
                yield finding(
                    tag,
                    "{ports} both use {output} of the board in bay {bay}",
                    place=f"bay {bay} {name}",
                    ports=" and ".join(ports),
                    output=name,
                    bay=bay,
                )
        trips = [alarm for alarm in tag.alarms if alarm.trip and alarm.output]
        for trip in trips:
            others = [one.name for one in tag.alarms if one.output == trip.output and one.name != trip.name]
            if others:
                yield finding(
                    tag,
                    "{trip} trips by {output}, which {others} drives too",
                    place=trip.name,
                    trip=trip.name,
                    output=trip.output,
                    others=" and ".join(others),
                )
