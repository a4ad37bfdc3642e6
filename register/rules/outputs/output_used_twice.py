from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop, Tag
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "output-used-twice",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_boards(
        sketch.with_port(sketch.relay_heater_loop(), "TIC-101", "Relay 2", bay="1"), "TIC-101", bay_2=None
    ),
    right=sketch.relay_heater_loop(),
)
def output_used_twice(loop: Loop) -> Iterator[Finding]:
    """One output does one thing: it does not control and alarm, and what trips does not warn.

    Alarms that only warn may share a relay, as long as it does the same for each.

    Why: the alarm switches the heat, or a warning trips the plant.

    Remedy: give each function an output of its own.
    """
    for tag in loop.tags:
        yield from boards_asked_twice(tag)
        for port in tag.ports:
            alarms = sorted((alarm for alarm in tag.alarms if alarm.output == port.name), key=lambda one: one.name)
            if not alarms:
                continue
            names = " and ".join(alarm.name for alarm in alarms)
            coils = {alarm.coil for alarm in alarms if alarm.coil}
            if port.purpose in (Purpose.CONTROL, Purpose.COOLING_CONTROL):
                what = "{port} controls, and {alarms} drives it too"
            elif {alarm.trip for alarm in alarms} == {True, False}:
                what = "{port} trips, and {alarms} drive it alike"
            elif len(coils) > 1:
                what = "{port} energises for one and lets go for another of {alarms}"
            else:
                continue
            yield finding(tag, what, place=port.name, port=port.name, alarms=names)


def boards_asked_twice(tag: Tag) -> Iterator[Finding]:
    """Outputs that name one bay, and are more than the board in it has."""
    by_bay: dict[str, list[str]] = {}
    for port in tag.ports:
        if port.bay and port.direction == Direction.OUT:
            by_bay.setdefault(port.bay, []).append(port.name)
    for bay, ports in by_bay.items():
        board = tag.asset.board_in(bay) if tag.asset and len(ports) > 1 else None
        offered = [one for one in board.model.ports if one.direction == Direction.OUT] if board else []
        if offered and len(ports) > len(offered):
            yield finding(
                tag,
                "{ports} are on {board} in bay {bay}, which has {count}",
                place=f"bay {bay}",
                ports=" and ".join(sorted(ports)),
                board=board.model,
                bay=bay,
                count=f"{len(offered)} output{'s' * (len(offered) > 1)}",
            )
