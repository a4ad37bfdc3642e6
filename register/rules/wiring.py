"""Cables and what they put in series: which conductors a link runs through, and what a current goes through."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from register.calc.errors import CalculationError
from register.calc.loop_power import conductor_ohm_per_km
from register.calc.signals import SIGNALS
from register.plant.values import Cable, Connection, Link, Loop, Port, Tag
from register.plant.words import Direction, Purpose, Role

NOT_CARRYING = ("screen", "compensation")
"""Polarities of cores through which the signal does not go."""


def cables_of(loop: Loop) -> Iterable[Cable]:
    """Each cable of the loop's links once."""
    return {core.cable.name: core.cable for link in loop.links for core in link.cores}.values()


def signal_kind(key: str) -> str:
    """The kind of a signal; "" for one that the register does not know."""
    known = SIGNALS.get(key)
    return known.kind if known else ""


def conductors_ohm(*links: Link) -> float | None:
    """What the conductors of links put in series, each core once; at least there and back through each cable.

    None where a cable's length or cross-section is not recorded; 0 where no cable is.
    """
    cores: dict[str, set[str]] = {}
    cables: dict[str, Cable] = {}
    for link in links:
        for core in link.cores:
            carrying = cores.setdefault(core.cable.name, set())
            cables[core.cable.name] = core.cable
            if core.polarity not in NOT_CARRYING:
                carrying.add(core.core)
    total = 0.0
    for name, cable in cables.items():
        if not cable.csa_mm2 or cable.length_m is None or cable.csa_mm2 < 0 or cable.length_m < 0:
            return None
        total += max(2, len(cores[name])) * _ohm_per_km(float(cable.csa_mm2)) * float(cable.length_m) / 1000
    return total


def _ohm_per_km(csa_mm2: float) -> float:
    """IEC 60228, class 2; a size between those of the standard by the conductor of 1 mm²."""
    try:
        return conductor_ohm_per_km(csa_mm2)
    except CalculationError:
        return conductor_ohm_per_km(1.0) / csa_mm2


@dataclass
class Circuit:
    """A current from one output, through whatever is in series on it, as far as the loop knows it.

    ``links``: every link that the current runs through; ``readers``: those that end at a receiver; ``supplies``: those
    that bring a two-wire transmitter its voltage, from where it comes from.
    """

    links: list[Connection] = field(default_factory=list)
    readers: list[Connection] = field(default_factory=list)
    supplies: list[Connection] = field(default_factory=list)
    barriers: dict[str, Tag] = field(default_factory=dict)

    def parts_ohm(self) -> tuple[dict[str, float], list[str]]:
        """Resistance by name of each reader, each barrier and all cables; and what of it is not recorded."""
        parts = {name: float(barrier.model.series_resistance_ohm) for name, barrier in self.barriers.items()}
        missing = []
        for one in self.readers:
            if one.link.shunt_ohm is None and signal_kind(one.target.signal) not in ("current", ""):
                continue  # it reads no current at all: another rule's
            name, ohm = one.target_tag.name, reader_ohm(one)
            if ohm is None:
                missing.append(f"the input resistance of {name} {one.target.name}")
            else:
                parts[name] = parts.get(name, 0.0) + ohm
        cables = conductors_ohm(*(one.link for one in self.links))
        if cables is None:
            missing.append("length or cross-section of a cable in it")
        elif cables:
            parts["cable"] = cables
        return parts, sorted(missing)


def circuit(loop: Loop, tag: Tag, port: Port) -> Circuit:
    """What is in series on a current output: readers, barriers that the current passes through, its supply."""
    found = Circuit()
    ends = [(tag, port)]
    while ends:
        sender, out = ends.pop()
        for one in loop.links_out_of(sender):
            if one.source is not out or one in found.links:
                continue
            found.links.append(one)
            if not passes_current(one.target_tag):
                found.readers.append(one)
            elif one.target_tag.name not in found.barriers:
                found.barriers[one.target_tag.name] = one.target_tag
                ends += [(one.target_tag, on) for on in one.target_tag.ports_for(one.target.purpose, Direction.OUT)]
    for one in loop.links_into(tag, Purpose.TRANSMITTER_SUPPLY):
        seen = {tag.name}
        while True:
            found.links.append(one)
            before = next(loop.links_into(one.source_tag, Purpose.TRANSMITTER_SUPPLY), None)
            if before is None or not passes_current(one.source_tag) or one.source_tag.name in seen:
                break
            seen.add(one.source_tag.name)
            found.barriers[one.source_tag.name] = one.source_tag
            one = before
        found.supplies.append(one)
    return found


def passes_current(tag: Tag) -> bool:
    """Whether a current goes through it: a barrier does that, an isolator makes another circuit."""
    model = tag.model
    return (
        tag.role == Role.SIGNAL_CONDITIONER
        and model is not None
        and not model.isolates
        and model.series_resistance_ohm is not None
    )


def reader_ohm(one: Connection) -> float | None:
    """What a reader puts in series: the resistor across its input, else the input itself; None: not recorded.

    An input that feeds the circuit may state the voltage that it leaves: it then adds no resistance.
    """
    if one.link.shunt_ohm is not None:
        return float(one.link.shunt_ohm)
    offered = one.target_tag.model_port(one.target)
    if offered is None:
        return None
    if offered.resistance_ohm is None:
        return 0.0 if offered.supply_v is not None and feeds(one) else None
    return float(offered.resistance_ohm)


def feeds(one: Connection) -> bool | None:
    """Whether the reader feeds the circuit that it reads; the tag's own word counts before the model's."""
    if one.target.supplies_loop is not None:
        return one.target.supplies_loop
    offered = one.target_tag.model_port(one.target)
    return offered.supplies_loop if offered else None


def is_active(one: Connection) -> bool | None:
    """Whether the sender feeds the circuit itself; the tag's own word counts before the model's."""
    if one.source.supplies_loop is not None:
        return one.source.supplies_loop
    offered = one.source_tag.model_port(one.source)
    return offered.supplies_loop if offered else None
