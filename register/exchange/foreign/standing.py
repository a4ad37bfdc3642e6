"""What the register holds that an index may speak of, however either writes its name."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field

from register.exchange.foreign.spelling import folded
from register.models import Alarm, Area, CatalogueModel, Loop, Port, Tag


def squeezed(name: str) -> str:
    """A tag's or a loop's name without its case and what parts it: TIC 101 and tic-101 are one.

    >>> squeezed("tic 101-A")
    'TIC101A'
    """
    return re.sub(r"[\s\-_.]", "", name).upper()


@dataclass(frozen=True)
class KnownTag:
    name: str
    loop: str
    role: str
    ports: tuple[tuple[str, str, str], ...] = ()  # name, direction, purpose
    alarms: tuple[tuple[str, str], ...] = ()  # name, kind


@dataclass(frozen=True)
class Standing:
    """Tags, loops and models by their squeezed names, areas by code and by name, and the area of each loop."""

    tags: dict[str, KnownTag] = field(default_factory=dict)
    loops: dict[str, str] = field(default_factory=dict)
    loop_areas: dict[str, str] = field(default_factory=dict)
    areas: dict[str, str] = field(default_factory=dict)
    models: dict[str, list[tuple[str, str]]] = field(default_factory=dict)

    def loop_named(self, name: str) -> str:
        """The loop's name as the register has it; a new one stays as it is."""
        return self.loops.get(squeezed(name), name)


def what_stands() -> Standing:
    """Read it, in six queries."""
    ports, alarms, by_name = defaultdict(list), defaultdict(list), defaultdict(list)
    for tag, *port in Port.objects.order_by("pk").values_list("tag__name", "name", "direction", "purpose"):
        ports[tag].append(tuple(port))
    for tag, *alarm in Alarm.objects.order_by("pk").values_list("tag__name", "name", "kind"):
        alarms[tag].append(tuple(alarm))
    for maker, name in CatalogueModel.objects.order_by("maker").values_list("maker", "name"):
        by_name[folded(name)].append((maker, name))
    loops = dict(Loop.objects.order_by().values_list("number", "area__code"))
    areas = list(Area.objects.order_by("-code").values_list("code", "name"))
    return Standing(
        {
            squeezed(name): KnownTag(name, loop, role, tuple(ports[name]), tuple(alarms[name]))
            for name, loop, role in Tag.objects.order_by("pk").values_list("name", "loop__number", "role")
        },
        {squeezed(number): number for number in loops},
        loops,
        {folded(name): code for code, name in areas} | {folded(code): code for code, name in areas},
        by_name,
    )
