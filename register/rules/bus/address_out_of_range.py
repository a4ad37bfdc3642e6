from __future__ import annotations

from collections.abc import Iterator

from register.calc.serial_bus import address_kind
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.stations import own_stations

MEANS = {
    "broadcast": "0 is broadcast and never answers",
    "reserved": "248 to 255 are reserved",
    "invalid": "there is no such address",
}


@rule(
    "address-out-of-range",
    severity=Severity.ERROR,
    source="Modbus over serial line, specification and implementation guide",
    wrong=sketch.bus_loop(address=250),
    right=sketch.bus_loop(address=247),
)
def address_out_of_range(loop: Loop) -> Iterator[Finding]:
    """A station's address lies from 1 to 247.

    Why: the station is never polled.

    Remedy: give it a free address from 1 to 247.
    """
    for tag, line in own_stations(loop):
        if line.address is None:
            yield unknown(tag, "it is on bus {bus}, but its address is not recorded", bus=line.bus)
        elif (kind := address_kind(line.address)) != "valid":
            yield finding(tag, "its address is {address}: {means}", address=line.address, means=MEANS[kind])
