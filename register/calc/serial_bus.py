"""Two-wire serial buses: loads on a driver, station addresses, line settings, length against speed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from register.calc.checked import not_negative, positive

DRIVER_UNIT_LOADS = 32.0
"""Unit loads that a driver carries (TIA-485-A)."""
UNIT_LOAD_KOHM = 12.0
"""Input resistance of one unit load (TIA-485-A)."""
TERMINATION_OHM = 120.0


def unit_loads(input_kohm: float) -> float:
    """Unit loads of a receiver by its input resistance. Raises OutOfRange. Source: TIA-485-A.

    >>> unit_loads(96.0)
    0.125
    """
    positive(input_resistance=input_kohm)
    return UNIT_LOAD_KOHM / input_kohm


def bus_load(nodes: Iterable[tuple[float, float]]) -> float:
    """Sum of unit loads, given how many nodes have which. Raises OutOfRange.

    >>> bus_load([(10, 1), (40, 0.25), (8, 0.125)])
    21.0
    """
    total = 0.0
    for count, load in nodes:
        not_negative(number_of_nodes=count, unit_loads=load)
        total += count * load
    return total


def bus_carries(nodes: Iterable[tuple[float, float]], bias_unit_loads: float = 0.0) -> bool:
    """Whether one driver carries the nodes beside a fail-safe bias network. Source: TIA-485-A.

    >>> bus_carries([(20, 1), (30, 0.5)])
    False
    """
    not_negative(bias_unit_loads=bias_unit_loads)
    return bus_load(nodes) <= DRIVER_UNIT_LOADS - bias_unit_loads


def greatest_nodes(unit_load: float, bias_unit_loads: float = 0.0) -> int:
    """How many like nodes a driver carries beside its bias network; 0 where the bias uses all. Source: TIA-485-A.

    >>> greatest_nodes(0.125, 20.0)
    96
    """
    positive(unit_load=unit_load)
    not_negative(bias_unit_loads=bias_unit_loads)
    return max(0, int((DRIVER_UNIT_LOADS - bias_unit_loads) / unit_load + 1e-9))


def address_kind(address: int) -> str:
    """What a station address is: "valid" (1 to 247), "broadcast" (0), "reserved" (248 to 255) or "invalid".

    Source: Modbus over serial line, specification and implementation guide.

    >>> address_kind(250)
    'reserved'
    """
    if address == 0:
        return "broadcast"
    if 1 <= address <= 247:
        return "valid"
    return "reserved" if 248 <= address <= 255 else "invalid"


def duplicates(addresses: Iterable[int]) -> list[int]:
    """Addresses that more than one station of a bus has, in order.

    >>> duplicates([247, 3, 3, 9, 9])
    [3, 9]
    """
    return sorted(address for address, count in Counter(addresses).items() if count > 1)


def greatest_length_m(baud: int) -> float:
    """Longest trunk at a speed: 1200 m up to 100 kbit/s, then 10⁸ divided by the speed (common practice, no source).

    >>> greatest_length_m(9600), greatest_length_m(1_000_000)
    (1200.0, 100.0)
    """
    positive(speed=baud)
    return min(1200.0, 1e8 / baud)
