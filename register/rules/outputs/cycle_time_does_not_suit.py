from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop, Port, Tag
from register.plant.words import ControlForm, Direction, LoadKind, Purpose, Severity
from register.rules.engine import Finding, finding, rule, unknown

SECONDS_PER_YEAR = 365 * 24 * 3600
PROPORTIONED = (ControlForm.SINGLE, ControlForm.HEAT_COOL)
CONTACT_LEAST_S = Decimal(15)
SOLID_STATE_S = (Decimal("0.2"), Decimal(5))
SWITCHED = ("relay-contact", "ssr-drive", "triac")


@rule(
    "cycle-time-does-not-suit",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.relay_heater_loop(), "TIC-101", cycle_time_s=sketch.number(2)),
    right=sketch.with_settings(sketch.relay_heater_loop(), "TIC-101", cycle_time_s=sketch.number(30)),
)
def cycle_time_does_not_suit(loop: Loop) -> Iterator[Finding]:
    """A time-proportioned output cycles slowly where something moves: 15 s or more; by solid state in 0.2 to 5 s.

    Why: a contactor on a 2 s cycle makes 15.8 million operations a year; a solid-state relay on a slow one lets the
    temperature swing.

    Remedy: lengthen the cycle, or switch by a solid-state relay.
    """
    for tag in loop.controllers:
        settings = tag.settings
        if settings is None or settings.control not in PROPORTIONED:
            continue
        for port in tag.ports:
            if (
                port.direction != Direction.OUT
                or port.purpose not in (Purpose.CONTROL, Purpose.COOLING_CONTROL)
                or port.signal not in SWITCHED
            ):
                continue
            cycle, moves = settings.cycle_time_s, something_moves(loop, tag, port)
            if cycle is None:
                yield unknown(
                    tag, "{port} is switched, but its cycle time is not recorded", place=port.name, port=port.name
                )
            elif moves and 0 < cycle < CONTACT_LEAST_S:
                yield finding(
                    tag,
                    "{port} works a contactor or a coil on a {cycle} s cycle: {operations} million operations a year",
                    place=port.name,
                    port=port.name,
                    cycle=f"{cycle:f}",
                    operations=f"{SECONDS_PER_YEAR / float(cycle) / 1e6:.1f}",
                )
            elif not moves and not SOLID_STATE_S[0] <= cycle <= SOLID_STATE_S[1]:
                yield finding(
                    tag,
                    "{port} switches by solid state on a {cycle} s cycle; {low} to {high} s suits it",
                    place=port.name,
                    port=port.name,
                    cycle=f"{cycle:f}",
                    low=SOLID_STATE_S[0],
                    high=SOLID_STATE_S[1],
                )


def something_moves(loop: Loop, tag: Tag, port: Port) -> bool:
    """Whether the output is a contact, or works a coil or a motor."""
    loads = [one.target_tag.model_port(one.target) for one in loop.links_out_of(tag) if one.source is port]
    kinds = {load.load_kind for load in loads if load is not None}
    if port.signal == "relay-contact":
        return kinds != {LoadKind.ELECTRONIC}
    return bool(kinds & {LoadKind.COIL, LoadKind.MOTOR})
