from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "duplicate-address",
    severity=Severity.ERROR,
    source="Modbus over serial line, specification and implementation guide",
    wrong=sketch.bus_loop(others=("2", "5", "1")),
    right=sketch.bus_loop(others=("2", "5", "7")),
)
def duplicate_address(loop: Loop) -> Iterator[Finding]:
    """On one bus every station has an address of its own.

    Why: two answers at once destroy each other; now and then one answers for the other.

    Remedy: give one of them a free address.
    """
    for tag, line in stations_of(loop):
        same = [
            station.tag
            for station in loop.surroundings.stations
            if station.line.bus == line.bus and station.line.address == line.address and station.tag != tag.name
        ]
        if line.address is not None and same:
            yield finding(
                tag,
                "{others} on bus {bus} has address {address} too",
                others=" and ".join(sorted(same)),
                bus=line.bus,
                address=line.address,
            )


def stations_of(loop: Loop):
    """The loop's own tags on a bus, each with its line."""
    return [(tag, tag.settings.serial) for tag in loop.tags if tag.settings and tag.settings.serial]
