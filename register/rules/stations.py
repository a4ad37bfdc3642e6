"""Stations of the buses that a loop is on."""

from __future__ import annotations

from register.plant.values import Loop, SerialLine, Station, Tag


def own_stations(loop: Loop) -> list[tuple[Tag, SerialLine]]:
    """The loop's own tags on a bus, each with its line."""
    return [(tag, tag.settings.serial) for tag in loop.tags if tag.settings and tag.settings.serial]


def on_bus(loop: Loop, bus: str) -> list[Station]:
    """Every station of a bus, as the loop's surroundings know it; without them, the loop's own."""
    known = {station.tag: station for station in loop.surroundings.stations if station.line.bus == bus}
    for tag, line in own_stations(loop):
        if line.bus == bus and tag.name not in known:
            known[tag.name] = Station(tag=tag.name, loop=loop.number, line=line)
    return [known[name] for name in sorted(known)]


def speaks_for_bus(loop: Loop, tag: Tag, bus: str) -> bool:
    """Whether a tag is the station at which what concerns the whole bus is said: the one with the least address."""
    first = min(on_bus(loop, bus), key=lambda one: (one.line.address is None, one.line.address or 0, one.tag))
    return first.tag == tag.name
