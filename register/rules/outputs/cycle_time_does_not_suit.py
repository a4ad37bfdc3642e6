from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Direction, LoadKind, Purpose, Severity
from register.rules.engine import Finding, finding, rule

SECONDS_PER_YEAR = 365 * 24 * 3600


@rule(
    "cycle-time-does-not-suit",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.relay_heater_loop(), "TIC-101", cycle_time_s=sketch.number(2)),
    right=sketch.with_settings(sketch.relay_heater_loop(), "TIC-101", cycle_time_s=sketch.number(30)),
)
def cycle_time_does_not_suit(loop: Loop) -> Iterator[Finding]:
    """A time-proportioned output cycles in 15 s or more by a contactor, in 0.2 to 5 s by solid state.

    Why: a contactor on a 2 s cycle makes 15.8 million operations a year.

    Remedy: lengthen the cycle, or switch by a solid-state relay.
    """
    for tag in loop.controllers:
        cycle = tag.settings.cycle_time_s if tag.settings else None
        if not cycle:
            continue
        for port in (
            *tag.ports_for(Purpose.CONTROL, Direction.OUT),
            *tag.ports_for(Purpose.COOLING_CONTROL, Direction.OUT),
        ):
            if port.signal == "relay-contact" and cycle < 15 and not drives_electronics(loop, tag, port):
                yield finding(
                    tag,
                    "{port} is a contact on a {cycle} s cycle: {operations} million operations a year",
                    place=port.name,
                    port=port.name,
                    cycle=f"{cycle:f}",
                    operations=f"{SECONDS_PER_YEAR / float(cycle) / 1e6:.1f}",
                )
            elif port.signal == "ssr-drive" and not 0.2 <= cycle <= 5:
                yield finding(
                    tag,
                    "{port} drives a solid-state relay on a {cycle} s cycle; 0.2 to 5 s suits it",
                    place=port.name,
                    port=port.name,
                    cycle=f"{cycle:f}",
                )


def drives_electronics(loop: Loop, tag, port) -> bool:
    """Whether a contact only tells an electronic input what to do."""
    loads = [one.target_tag.model_port(one.target) for one in loop.links_out_of(tag) if one.source == port]
    return any(load is not None and load.load_kind == LoadKind.ELECTRONIC for load in loads)
