from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.stations import on_bus, own_stations

SETTINGS = (("baud", "speed"), ("parity", "parity"), ("stop_bits", "stop bits"), ("mode", "framing"))


@rule(
    "line-settings-differ",
    severity=Severity.ERROR,
    source="Modbus over serial line; TIA-485-A",
    wrong=sketch.bus_loop(parity="none"),
    right=sketch.bus_loop(parity="even"),
)
def line_settings_differ(loop: Loop) -> Iterator[Finding]:
    """All stations of a bus share speed, parity, stop bits and framing.

    What most of the stations are set to counts as the bus's; where as many are set one way as another, each is named.

    Why: a station that differs is deaf.

    Remedy: set it to what the bus works with.
    """
    for tag, line in own_stations(loop):
        stations = on_bus(loop, line.bus)
        for field, what in SETTINGS:
            mine = getattr(line, field)
            others = Counter(theirs for one in stations if (theirs := getattr(one.line, field)) and theirs != mine)
            if not mine or not others:
                continue
            alike = sum(getattr(one.line, field) == mine for one in stations)
            most = max(others.values())
            if most < alike:
                continue
            usual = sorted(str(value) for value, count in others.items() if count == most)
            yield finding(
                tag,
                "its {what} is {mine}; bus {bus} works with {usual}",
                place=what,
                what=what,
                mine=mine,
                bus=line.bus,
                usual=" or ".join(usual),
            )
