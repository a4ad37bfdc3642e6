"""Intrinsically safe circuits: which associated apparatus feeds which device of the field, and by which cables."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from register.calc.intrinsic_safety import (
    DEFAULT_CAPACITANCE_PF_PER_M,
    DEFAULT_INDUCTANCE_UH_PER_M,
    CableRun,
    Device,
    Source,
)
from register.plant.values import Cable, Connection, ExData, Loop, Tag

LEVELS = {"ia", "ib", "ic"}


@dataclass(frozen=True)
class SafeCircuit:
    """An associated apparatus (its certificate states Uo), a device of the field, and the links between the two."""

    source: Tag
    device: Tag
    links: tuple[Connection, ...]

    @property
    def cables(self) -> tuple[Cable, ...]:
        return tuple({cable.name: cable for one in self.links for cable in one.link.cables}.values())

    @property
    def place(self) -> str:
        """What tells the circuit from another of its device."""
        return f"circuit of {self.source.name}"


def safe_circuits(loop: Loop) -> Iterator[SafeCircuit]:
    """Circuits whose two ends are known by their certificates, whichever end sends."""
    if not any(certificate(tag) for tag in (*loop.tags, *loop.neighbours)):
        return
    found: dict[tuple[str, str], list[Connection]] = {}
    for one in loop.connections():
        for source, device in ((one.source_tag, one.target_tag), (one.target_tag, one.source_tag)):
            ex, taking = certificate(source), certificate(device)
            if ex is not None and ex.uo_v is not None and taking is not None and is_intrinsically_safe(taking):
                found.setdefault((source.name, device.name), []).append(one)
    for (source, device), links in found.items():
        yield SafeCircuit(loop.tag(source), loop.tag(device), tuple(links))


def certificate(tag: Tag) -> ExData | None:
    return tag.model.ex if tag.model else None


def is_intrinsically_safe(ex: ExData) -> bool:
    """Of a device of the field: simple apparatus, or what has a Ui or a level, and gives nothing itself."""
    return ex.uo_v is None and (ex.simple_apparatus or ex.ui_v is not None or bool(protections(ex) & LEVELS))


def protections(ex: ExData) -> set[str]:
    """Types of protection as a set, however they are written: "Ex ia", "[ia]", "d, e"."""
    return set(re.findall(r"[a-z]+", ex.protection.lower())) - {"ex", "eex"}


def source_values(ex: ExData) -> Source | None:
    """What an associated apparatus gives; None where a figure is not recorded."""
    values = (ex.uo_v, ex.io_ma, ex.po_mw, ex.co_nf, ex.lo_mh)
    return None if None in values else Source(*map(float, values))


def device_values(ex: ExData, source: Source) -> Device | None:
    """What a device takes and stores. Simple apparatus takes what its circuit gives."""
    values = (ex.ui_v, ex.ii_ma, ex.pi_mw)
    stored = (float(ex.ci_nf or 0), float(ex.li_mh or 0))
    if ex.simple_apparatus:
        return Device(source.uo_v, source.io_ma, source.po_mw, *stored)
    return None if None in values else Device(*map(float, values), *stored)


def cable_run(cables: tuple[Cable, ...]) -> CableRun | None:
    """Cables in a row as one, by the default figures where theirs are not recorded; None where a length is missing."""
    if not cables or any(cable.length_m is None for cable in cables):
        return None
    length = sum(float(cable.length_m) for cable in cables)
    if not length:
        return CableRun(0, 0, 0)
    capacitance = inductance = 0.0
    for cable in cables:
        pf, uh = cable.capacitance_pf_per_m, cable.inductance_uh_per_m
        capacitance += float(cable.length_m) * (DEFAULT_CAPACITANCE_PF_PER_M if pf is None else float(pf))
        inductance += float(cable.length_m) * (DEFAULT_INDUCTANCE_UH_PER_M if uh is None else float(uh))
    return CableRun(capacitance / length, inductance / length, length)


def is_recorded(cables: tuple[Cable, ...]) -> bool:
    """Whether no default figure is needed."""
    return all(None not in (cable.capacitance_pf_per_m, cable.inductance_uh_per_m) for cable in cables)
