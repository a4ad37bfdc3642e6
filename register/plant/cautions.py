"""Which of the usual cautions a loop calls for. They defer to local rules, certificates and licensed people."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from register.plant.values import Loop, Tag
from register.plant.words import Criticality, LoopKind, SupplyKind

MAINS_SIGNALS = ("relay-contact", "triac", "mains")
"""What switches or carries what may be mains."""

EXTRA_LOW_V = 50
"""Above this an alternating supply is treated as mains (extra-low voltage, IEC 61140, from memory)."""


@dataclass(frozen=True)
class Cautions:
    """What may hurt someone who works here; true when anything may."""

    hazardous: bool
    safety: bool
    mains: bool

    def __len__(self) -> int:
        """How many cautions are to be shown."""
        return sum((self.hazardous, self.safety, self.mains))


def cautions_for(loop: Loop, tags: Sequence[Tag] | None = None) -> Cautions:
    """The cautions for work on all of ``loop``, or on these ``tags`` of it.

    A loop is a safety loop where it has a safety target, trips something, or is recorded as critical to safety.
    """
    tags = loop.tags if tags is None else tags
    return Cautions(
        hazardous=any(tag.zone for tag in tags),
        safety=bool(loop.safety) or loop.kind == LoopKind.TRIP or loop.criticality == Criticality.SAFETY,
        mains=any(_fed_by_mains(tag) or any(port.signal in MAINS_SIGNALS for port in tag.ports) for tag in tags),
    )


def _fed_by_mains(tag: Tag) -> bool:
    """What is not recorded counts against the supply: a caution too many costs nothing."""
    if tag.supply_v is None:
        return tag.supply_kind in (SupplyKind.AC, SupplyKind.AC_OR_DC)
    return tag.supply_v > EXTRA_LOW_V and tag.supply_kind != SupplyKind.DC
