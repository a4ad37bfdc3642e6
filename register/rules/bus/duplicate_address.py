from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.stations import on_bus, own_stations


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
    for tag, line in own_stations(loop):
        if line.address is None:
            continue
        same = [one.tag for one in on_bus(loop, line.bus) if one.line.address == line.address and one.tag != tag.name]
        if same:
            yield finding(
                tag,
                "{others} on bus {bus} has address {address} too",
                others=" and ".join(same),
                bus=line.bus,
                address=line.address,
            )
