from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop, SerialLine
from register.plant.words import Severity
from register.rules.bus.duplicate_address import stations_of
from register.rules.engine import Finding, finding, rule

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

    What most of the stations are set to counts as the bus's.

    Why: a station that differs is deaf.

    Remedy: set it to what the bus works with.
    """
    for tag, line in stations_of(loop):
        for field, what in SETTINGS:
            mine = getattr(line, field)
            theirs = Counter(
                value for one in loop.surroundings.stations if (value := recorded(one.line, line.bus, field))
            )
            usual, count = theirs.most_common(1)[0] if theirs else (None, 0)
            if mine and usual and mine != usual and count > theirs[mine]:
                yield finding(
                    tag,
                    "its {what} is {mine}; bus {bus} works with {usual}",
                    place=what,
                    what=what,
                    mine=mine,
                    bus=line.bus,
                    usual=usual,
                )


def recorded(line: SerialLine, bus: str, field: str):
    return getattr(line, field) if line.bus == bus else None
