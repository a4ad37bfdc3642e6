"""A loop as what a diagram connects: nodes in layers from the field to other loops, and the runs between them.

A *node* is a tag's device, a strip of terminals at a place on the way, or a reference to another loop. A *run* is a
link, or the part of a link that goes one way across the layers, with its conductors side by side.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import IntEnum, StrEnum
from itertools import pairwise

from msgspec.structs import replace

from register.plant.values import Core, Link, Loop, Port, Tag
from register.plant.words import Location, Role


class Column(IntEnum):
    """From left to right."""

    FIELD = 0
    JUNCTION_BOX = 1
    RACK = 2
    PANEL = 3
    OTHER_LOOPS = 4


COLUMN_OF_LOCATION = {
    Location.FIELD: Column.FIELD,
    Location.JUNCTION_BOX: Column.JUNCTION_BOX,
    Location.RACK: Column.RACK,
    Location.PANEL: Column.PANEL,
}
_FIELD_ROLES = (Role.SENSOR, Role.TRANSMITTER, Role.FINAL_ELEMENT)


class NodeKind(StrEnum):
    DEVICE = "device"
    STRIP = "strip"
    OTHER_LOOP = "other loop"


@dataclass(eq=False)
class Node:
    kind: NodeKind
    name: str
    column: Column
    tag: Tag | None = None
    depth: int = 0  # within its column; greater lies further from the middle of the diagram
    layer: int = 0

    @property
    def is_controller(self) -> bool:
        return self.tag is not None and self.tag.role == Role.CONTROLLER and self.kind == NodeKind.DEVICE


@dataclass(frozen=True)
class Hop:
    """A conductor's way from one node to the next, left to right. Without a core it is not recorded."""

    core: Core | None
    left_terminal: str = ""
    right_terminal: str = ""


@dataclass(frozen=True)
class Conductor:
    hops: tuple[Hop, ...]
    is_screen: bool = False


@dataclass(eq=False)
class Run:
    """Conductors of a link through the same nodes, whose layers rise, or from a node to one of its own layer.

    The ports are those of the link at the first and last node; empty where the run ends at a strip.
    """

    link: Link
    nodes: tuple[Node, ...]
    conductors: tuple[Conductor, ...]
    first_port: str = ""
    last_port: str = ""

    @property
    def first(self) -> Node:
        return self.nodes[0]

    @property
    def last(self) -> Node:
        return self.nodes[-1]

    @property
    def turns_back(self) -> bool:
        """Both ends lie in one layer: the run leaves and enters on the right."""
        return self.first.layer == self.last.layer


@dataclass
class Wiring:
    loop: Loop
    nodes: list[Node] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    empty_layers: dict[int, Column] = field(default_factory=dict)  # of the field and the panel, which always show

    def runs_at(self, node: Node) -> list[Run]:
        return [run for run in self.runs if node in run.nodes]


def wiring_of(loop: Loop) -> Wiring:
    """Every tag of the loop as a node, every link as one or more runs."""
    devices = {tag.name: Node(NodeKind.DEVICE, tag.name, _column(tag), tag) for tag in loop.tags}
    places = _Places(loop, devices)
    for link in loop.links:
        for name in (link.source_tag, link.target_tag):
            if name not in devices and name not in places.others:
                tag = next((one for one in loop.neighbours if one.name == name), None)
                places.others[name] = Node(NodeKind.OTHER_LOOP, name, Column.OTHER_LOOPS, tag)
    paths = [
        (link, path, tuple(conductors))
        for link in loop.links
        for path, conductors in _by_path(link, places, _conductors(link))
    ]
    wiring = Wiring(loop, nodes=[*devices.values(), *places.strips.values(), *places.others.values()])
    _set_depths(wiring.nodes, [path for _, path, _ in paths])
    wiring.empty_layers = _set_layers(wiring.nodes)
    screens: set[tuple[str, Node, Node]] = set()
    for link, path, conductors in paths:
        for run in _one_way_runs(link, path, conductors):
            wiring.runs.append(_with_screen(run, screens))
    return wiring


def _column(tag: Tag) -> Column:
    """The column that a tag states, else the one where its role is usually found."""
    if tag.location:
        return COLUMN_OF_LOCATION[tag.location]
    return Column.FIELD if tag.role in _FIELD_ROLES else Column.PANEL


# Places on the way


_JUNCTION_BOX = re.compile(r"\b(jb|junction|box)", re.IGNORECASE)
_RACK = re.compile(r"\b(mr|mc|marshal\w*|rack|cabinet|cubicle)\b", re.IGNORECASE)
_PANEL = re.compile(r"\b(panel|desk)\b|^p\d", re.IGNORECASE)


class _Places:
    """The nodes of a diagram by the names that links and cores give."""

    def __init__(self, loop: Loop, devices: dict[str, Node]):
        self.loop = loop
        self.devices = devices
        self.others: dict[str, Node] = {}
        self.strips: dict[str, Node] = {}

    def end(self, tag: str) -> Node:
        return self.devices.get(tag) or self.others[tag]

    def is_end(self, place: str, tag: str) -> bool:
        """Whether a core that names the place ends at the tag itself."""
        if place in ("", tag):
            return True
        node = self.end(tag)
        return node.tag is not None and place.casefold() == node.tag.place.casefold()

    def are_linked(self, one: str, other: str) -> bool:
        """Whether two different devices of the loop have a link of their own."""
        ends = ({link.source_tag, link.target_tag} for link in self.loop.links)
        return one != other and {one, other} <= self.devices.keys() and {one, other} in ends

    def way(self, place: str, already: int, field_first: bool) -> Node:
        """The node of a place between two tags, the nth on the way from the field where that is known."""
        if place in self.devices:
            return self.devices[place]
        if place not in self.strips:
            self.strips[place] = Node(NodeKind.STRIP, place, self._column(place, already, field_first))
        return self.strips[place]

    def _column(self, place: str, already: int, field_first: bool) -> Column:
        """Where a place stands: as a tag there says, as its name says, else by its order from the field."""
        for tag in (*self.loop.tags, *self.loop.neighbours):
            if tag.location and tag.location != Location.FIELD and tag.place.casefold() == place.casefold():
                return COLUMN_OF_LOCATION[tag.location]
        if _JUNCTION_BOX.search(place):
            return Column.JUNCTION_BOX
        if _RACK.search(place):
            return Column.RACK
        if _PANEL.search(place) or not field_first:
            return Column.PANEL
        return Column.JUNCTION_BOX if already == 0 else Column.RACK


# Conductors


def _conductors(link: Link) -> list[list[Core]]:
    """The link's cores as chains from source to target, each chain one conductor."""
    remaining = [_forward(core, link) for core in link.cores]
    chains = []
    while remaining:
        arrivals = {(core.to_place, core.to_terminal) for core in remaining if core.to_terminal}
        core = next((one for one in remaining if (one.from_place, one.from_terminal) not in arrivals), remaining[0])
        chain = []
        while core is not None:
            remaining.remove(core)
            chain.append(core)
            core = _next_core(core, remaining, link)
        chains.append(chain)
    return chains


def _forward(core: Core, link: Link) -> Core:
    """The core from source to target, however it was recorded."""
    if core.from_place == link.source_tag or core.to_place == link.target_tag:
        return core
    if core.to_place == link.source_tag or core.from_place == link.target_tag:
        return _turned(core)
    return core


def _turned(core: Core) -> Core:
    return replace(
        core,
        from_place=core.to_place,
        from_terminal=core.to_terminal,
        to_place=core.from_place,
        to_terminal=core.from_terminal,
    )


def _next_core(core: Core, remaining: list[Core], link: Link) -> Core | None:
    """The core that goes on from where one ends: on the same terminal, else of the same polarity at the same place."""
    if not core.to_place or core.to_place == link.target_tag:
        return None
    there = [one for one in remaining if one.from_place == core.to_place]
    on_terminal = [one for one in there if one.from_terminal and one.from_terminal == core.to_terminal]
    alike = [one for one in there if one.polarity and one.polarity == core.polarity]
    return next(iter(on_terminal or alike), None)


def _by_path(
    link: Link, places: _Places, chains: list[list[Core]]
) -> Iterator[tuple[tuple[Node, ...], list[tuple[Hop, ...]]]]:
    """The conductors of a link grouped by the nodes that they pass, each as its hops from source to target."""
    source, target = places.end(link.source_tag), places.end(link.target_tag)
    if not chains:
        yield (source, target), [(Hop(None),)]
        return
    field_first = Column.FIELD in (source.column, target.column)
    grouped: dict[tuple[Node, ...], list[tuple[Hop, ...]]] = defaultdict(list)
    for chain in chains:
        begin, end = chain[0].from_place, chain[-1].to_place
        stops = [] if places.is_end(begin, link.source_tag) else [begin]
        hops = [Hop(None, "", chain[0].from_terminal)] if stops else []
        for core in chain:
            hops.append(Hop(core, core.from_terminal, core.to_terminal))
            stops.append(core.to_place)
        if places.is_end(end, link.target_tag):
            stops.pop()
        else:
            hops.append(Hop(None, chain[-1].to_terminal, ""))
        outward = source.column > target.column
        way = [
            places.way(place, len(stops) - 1 - nth if outward else nth, field_first) for nth, place in enumerate(stops)
        ]
        path = [source, *way, target]
        if places.are_linked(link.source_tag, begin):  # in series: the wires go on from a device that has its own
            path, hops = path[1:], hops[1:]
        if places.are_linked(end, link.target_tag):
            path, hops = path[:-1], hops[:-1]
        grouped[tuple(path)].append(tuple(hops))
    yield from grouped.items()


def _one_way_runs(link: Link, path: tuple[Node, ...], conductors: tuple[tuple[Hop, ...], ...]) -> Iterator[Run]:
    """The link's way cut where it turns back, each part from left to right."""
    start = 0
    for end in range(1, len(path)):
        step = _sign(path[end].layer - path[end - 1].layer)
        going_on = end + 1 < len(path) and step != 0 and _sign(path[end + 1].layer - path[end].layer) == step
        if going_on:
            continue
        nodes = path[start : end + 1]
        hops = [one[start:end] for one in conductors]
        at_source = start == 0 and nodes[0].name == link.source_tag
        at_target = end == len(path) - 1 and nodes[-1].name == link.target_tag
        ports = (link.source_port if at_source else "", link.target_port if at_target else "")
        if step < 0:
            nodes, ports = nodes[::-1], ports[::-1]
            hops = [
                tuple(Hop(hop.core, hop.right_terminal, hop.left_terminal) for hop in reversed(one)) for one in hops
            ]
        yield Run(link, nodes, tuple(map(Conductor, hops)), *ports)
        start = end


def _sign(number: int) -> int:
    return (number > 0) - (number < 0)


def _with_screen(run: Run, drawn: set[tuple[str, Node, Node]]) -> Run:
    """The run with its screens last: cores that stand for one, else the screens of its cables, each once on its way."""
    ways = list(pairwise(run.nodes))
    wires = [one for one in run.conductors if not _stands_for_screen(one)]
    screens = [Conductor(one.hops, is_screen=True) for one in run.conductors if _stands_for_screen(one)]
    drawn |= {
        (hop.core.cable.name, *way) for one in screens for hop, way in zip(one.hops, ways, strict=True) if hop.core
    }
    hops = []
    for nth, way in enumerate(ways):
        screened = [core for one in wires if (core := one.hops[nth].core) and core.cable.screened]
        core = next((core for core in screened if (core.cable.name, *way) not in drawn), None)
        hops.append(Hop(core))
        if core:
            drawn.add((core.cable.name, *way))
    if any(hop.core for hop in hops):
        screens.append(Conductor(tuple(hops), is_screen=True))
    run.conductors = (*wires, *screens)
    return run


def _stands_for_screen(conductor: Conductor) -> bool:
    return any(hop.core and hop.core.polarity.casefold() == "screen" for hop in conductor.hops)


# Layers


def _set_depths(nodes: list[Node], paths: list[tuple[Node, ...]]) -> None:
    """Within the field and the panel, what is wired only to its own column stands further out; elsewhere devices
    stand behind the strips."""
    joined: dict[Node, set[Node]] = defaultdict(set)
    for path in paths:
        for left, right in pairwise(path):
            joined[left].add(right)
            joined[right].add(left)
    for node in nodes:
        if node.column in (Column.JUNCTION_BOX, Column.RACK) and node.kind == NodeKind.DEVICE:
            node.depth = 1
    for column, outside in ((Column.FIELD, (1, 2, 3, 4)), (Column.PANEL, (0, 1, 2))):
        inner = [node for node in nodes if node.column == column]
        strips = {node for node in inner if node.kind == NodeKind.STRIP}
        near = {
            node
            for node in inner
            if any(other.column in outside or other in strips for other in joined[node]) or not joined[node]
        }
        reached = near or {node for node in inner if node.is_controller} or set(inner)
        depth = 0
        seen = set(reached)
        while reached and depth < 2:
            depth += 1
            reached = {other for node in reached for other in joined[node] if other in inner} - seen
            for node in reached:
                node.depth = depth
            seen |= reached
        for node in strips:
            node.depth = 0


def _set_layers(nodes: list[Node]) -> dict[int, Column]:
    """Number the layers that have nodes, from left to right; returns the field's and the panel's own."""

    def place(node: Node) -> tuple[int, int]:
        if node.column == Column.FIELD:
            return node.column, -node.depth
        if node.column == Column.PANEL and node.kind == NodeKind.STRIP:
            return node.column, -1
        return node.column, node.depth

    always = {(Column.FIELD, 0): Column.FIELD, (Column.PANEL, 0): Column.PANEL}
    order = {key: layer for layer, key in enumerate(sorted({place(node) for node in nodes} | always.keys()))}
    for node in nodes:
        node.layer = order[place(node)]
    return {order[key]: column for key, column in always.items()}


def port_of(node: Node, name: str) -> Port | None:
    return node.tag.port(name) if node.tag else None
