"""Two-wire serial buses: loads on a driver, station addresses, line settings, length against speed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from register.calc.checked import not_negative, positive
from register.calc.errors import CalculationError, OutOfRange

DRIVER_UNIT_LOADS = 32.0
"""Unit loads that a driver carries (TIA-485-A)."""
UNIT_LOAD_KOHM = 12.0
"""Input resistance of one unit load (TIA-485-A)."""
TERMINATION_OHM = 120.0


def unit_loads(input_kohm: float) -> float:
    """Unit loads of a receiver by its input resistance in kΩ, above 0: 12 kΩ is one. Raises OutOfRange, NotANumber.

    Source: TIA-485-A.

    >>> unit_loads(96.0)
    0.125
    """
    positive(input_resistance=input_kohm)
    return UNIT_LOAD_KOHM / input_kohm


def bus_load(nodes: Iterable[tuple[float, float]]) -> float:
    """Sum of unit loads, given pairs of how many nodes have which. Raises OutOfRange for a negative one, NotANumber.

    Source: TIA-485-A.

    >>> bus_load([(10, 1), (40, 0.25), (8, 0.125)])
    21.0
    """
    total = 0.0
    for count, load in nodes:
        not_negative(number_of_nodes=count, unit_loads=load)
        total += count * load
    return total


def bus_carries(nodes: Iterable[tuple[float, float]], bias_unit_loads: float = 0.0) -> bool:
    """Whether one driver carries the nodes beside a fail-safe bias network: 32 unit loads in all.

    Raises OutOfRange, NotANumber. Source: TIA-485-A.

    >>> bus_carries([(20, 1), (30, 0.5)])
    False
    """
    not_negative(bias_unit_loads=bias_unit_loads)
    return bus_load(nodes) <= DRIVER_UNIT_LOADS - bias_unit_loads


def greatest_nodes(unit_load: float, bias_unit_loads: float = 0.0) -> int:
    """How many like nodes a driver carries beside its bias network; 0 where the bias uses all.

    ``unit_load`` of each is above 0. Raises OutOfRange, NotANumber. Source: TIA-485-A.

    >>> greatest_nodes(0.125, 20.0)
    96
    """
    positive(unit_load=unit_load)
    not_negative(bias_unit_loads=bias_unit_loads)
    return max(0, int((DRIVER_UNIT_LOADS - bias_unit_loads) / unit_load + 1e-9))


def address_kind(address: int) -> str:
    """What a station address is: "valid" (1 to 247), "broadcast" (0), "reserved" (248 to 255) or "invalid".

    Source: MODBUS over serial line, specification and implementation guide V1.02, 2.2.

    >>> address_kind(250)
    'reserved'
    """
    if address == 0:
        return "broadcast"
    if 1 <= address <= 247:
        return "valid"
    return "reserved" if 248 <= address <= 255 else "invalid"


def duplicates(addresses: Iterable[int]) -> list[int]:
    """Addresses that more than one station of a bus has, in order. Source: MODBUS over serial line V1.02, 2.2.

    >>> duplicates([247, 3, 3, 9, 9])
    [3, 9]
    """
    return sorted(address for address, count in Counter(addresses).items() if count > 1)


def greatest_length_m(baud: int) -> float:
    """Longest trunk in m at a speed in bit/s: 1200 m up to 100 kbit/s, then 10⁸ divided by the speed.

    Holds up to 10 Mbit/s: raises OutOfRange, NotANumber. Source: common practice, no source.

    >>> greatest_length_m(9600), greatest_length_m(1_000_000)
    (1200.0, 100.0)
    """
    positive(speed=baud)
    if baud > 10_000_000:
        raise OutOfRange(f"The rule holds up to 10 Mbit/s, not {baud / 1e6:g} Mbit/s.")
    return min(1200.0, 1e8 / baud)


def bus_resistance_ohm(terminations: int, unit_loads: float = 0.0) -> float:
    """Resistance in Ω between the wires of a bus at rest, of so many 120 Ω terminations and unit loads beside them.

    An ohmmeter on a bus without power shows 60 Ω where both ends are terminated, 120 Ω where one is, 40 Ω where one is
    too many. Raises OutOfRange for negative ones or none at all. Source: TIA-485-A; parallel resistances.

    >>> bus_resistance_ohm(2), bus_resistance_ohm(3)
    (60.0, 40.0)
    """
    not_negative(terminations=terminations, unit_loads=unit_loads)
    conductance = terminations / TERMINATION_OHM + unit_loads / (UNIT_LOAD_KOHM * 1000)
    positive(terminations_and_loads=conductance)
    return 1 / conductance


_PARITIES = {"N": "none", "E": "even", "O": "odd"}


@dataclass(frozen=True, slots=True)
class Framing:
    """How a character travels: data bits, parity, stop bits."""

    data_bits: int
    parity: str
    stop_bits: int

    @property
    def bits(self) -> int:
        """Bits on the wire for one character, its start bit included."""
        return 1 + self.data_bits + (self.parity != "none") + self.stop_bits

    @property
    def is_rtu(self) -> bool:
        """Whether it is one of RTU mode: 8 data bits, 11 in all. Source: MODBUS over serial line V1.02, 2.5.1."""
        return (self.data_bits, self.bits) == (8, 11)


def framing(text: str) -> Framing:
    """A framing as it is written: data bits, the letter N, E or O, stop bits. Raises CalculationError for another.

    Source: common practice.

    >>> framing("8E1"), framing("8N1").is_rtu
    (Framing(data_bits=8, parity='even', stop_bits=1), False)
    """
    data, parity, stop = text.strip().upper() if len(text.strip()) == 3 else "???"
    if data not in "78" or parity not in _PARITIES or stop not in "12":
        raise CalculationError(f"“{text}” is no framing: write 8E1, 8O1, 8N2 or the like.")
    return Framing(int(data), _PARITIES[parity], int(stop))


def silent_interval_ms(baud: int, bits: int = 11) -> float:
    """Silence in ms that ends a message in RTU mode: 3.5 characters, or 1.75 ms above 19 200 bit/s.

    Raises OutOfRange, NotANumber. Source: MODBUS over serial line V1.02, 2.5.1.1.

    >>> round(silent_interval_ms(9600), 2), silent_interval_ms(115_200)
    (4.01, 1.75)
    """
    positive(speed=baud, bits=bits)
    return 1.75 if baud > 19_200 else 3.5 * bits * 1000 / baud
