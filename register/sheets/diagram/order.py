"""The order in which runs stand below each other, so that what belongs together is together and lines run straight."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from register.plant.words import Role
from register.sheets.diagram.wiring import Column, Node, NodeKind, Run, Wiring


@dataclass(frozen=True)
class Slot:
    """A port of a node, or an empty bay, that no run reaches."""

    node: Node
    port: str = ""
    bay: str = ""


@dataclass(eq=False)
class Band:
    """Side by side on the same rows: runs that follow each other from left to right; or one slot without a run; or a
    node without either. Bands of a group should stay on one sheet."""

    group: int
    runs: list[Run] = field(default_factory=list)
    slot: Slot | None = None

    @property
    def nodes(self) -> list[Node]:
        return list(dict.fromkeys(node for run in self.runs for node in run.nodes)) or [self.slot.node]


def bands_of(wiring: Wiring) -> list[Band]:
    """Every run, unwired port, empty bay and lone node once."""
    return _Ordering(wiring).bands


class _Ordering:
    def __init__(self, wiring: Wiring):
        self.wiring = wiring
        self.at: dict[Node, list[Run]] = {node: wiring.runs_at(node) for node in wiring.nodes}
        self.placed: set[Run] = set()
        self.slots_shown: set[Node] = set()
        self.bands: list[Band] = []
        self.group = 0
        for node in sorted(wiring.nodes, key=_rank):
            self._anchor(node)

    def _anchor(self, node: Node) -> None:
        """All of a node, port by port, each followed by what hangs on the far end."""
        self.start = len(self.bands)
        for slot in slots_of(node):
            self.group += 1
            runs = [run for run in self.at[node] if slot.port and slot.port in _ports_at(run, node)]
            for run in runs:
                self._place(run, node)
            if not runs and node not in self.slots_shown:
                self.bands.append(Band(self.group, slot=slot))
        self.slots_shown.add(node)
        for run in self.at[node]:
            self._place(run, node)
        if not self.at[node] and not any(band.slot and band.slot.node is node for band in self.bands):
            self.bands.append(Band(self.group, slot=Slot(node)))

    def _place(self, run: Run, anchor: Node, at: int | None = None) -> None:
        """Put a run, and what goes on from it, on rows at the end or at a place among the bands."""
        if run in self.placed:
            return
        self.placed.add(run)
        runs = [run]
        if not run.turns_back:
            while more := self._continuation(runs[0].first, leftwards=True):
                runs.insert(0, more)
            while more := self._continuation(runs[-1].last, leftwards=False):
                runs.append(more)
        band = Band(self.group, runs)
        self.bands.insert(len(self.bands) if at is None else at, band)
        for node in band.nodes:
            if node is not anchor and node.kind == NodeKind.DEVICE and node.layer != anchor.layer:
                self._follow(node, anchor)

    def _continuation(self, node: Node, *, leftwards: bool) -> Run | None:
        """The run that goes on from a band's end on the same rows; a controller's ports each have rows of their own."""
        if node.is_controller or node.kind != NodeKind.DEVICE:
            return None
        for run in self.at[node]:
            end = run.last if leftwards else run.first
            if run not in self.placed and not run.turns_back and end is node:
                self.placed.add(run)
                return run
        return None

    def _follow(self, node: Node, anchor: Node) -> None:
        """What else hangs on a node that a run from the anchor reached: first what leads back to the anchor."""
        waiting = [run for run in self.at[node] if run not in self.placed]
        back = [run for run in waiting if anchor in run.nodes]
        onward = [run for run in waiting if all(other.layer != anchor.layer for other in run.nodes)]
        for run in (*back, *onward):
            if run in back or not run.first.layer < anchor.layer < run.last.layer:
                self._place(run, anchor)
            elif sum(anchor in band.nodes for band in self.bands[self.start :]) == 1:
                self._place(run, anchor, at=self.start)  # it passes the anchor's layer: above its box, not through it
        if node not in self.slots_shown:
            self.slots_shown.add(node)
            for slot in slots_of(node):
                if not any(slot.port and slot.port in _ports_at(run, node) for run in self.at[node]):
                    self.bands.append(Band(self.group, slot=slot))


def _rank(node: Node) -> tuple:
    """Supplies and controllers first, then from the panel to the field."""
    return (
        node.kind != NodeKind.DEVICE,
        node.tag is None or node.tag.role != Role.POWER_SUPPLY,
        not node.is_controller,
        node.column == Column.OTHER_LOOPS,
        -node.column,
        node.depth,
    )


def _ports_at(run: Run, node: Node) -> tuple[str, ...]:
    return tuple(name for end, name in ((run.first, run.first_port), (run.last, run.last_port)) if end is node and name)


def slots_of(node: Node) -> Iterator[Slot]:
    """A node's ports, the built-in ones first, then bay by bay; a bay without a port shows as empty."""
    if node.kind != NodeKind.DEVICE:
        return
    tag = node.tag
    for port in tag.ports:
        if not port.bay:
            yield Slot(node, port.name)
    bays = list(dict.fromkeys([*(bay.name for bay in (tag.model.bays if tag.model else ())), *_bays_in_use(node)]))
    for bay in bays:
        names = [port.name for port in tag.ports if port.bay == bay]
        yield from (Slot(node, name, bay) for name in names)
        if not names:
            yield Slot(node, bay=bay)


def _bays_in_use(node: Node) -> list[str]:
    boards = node.tag.asset.boards if node.tag.asset else ()
    return [*(board.bay for board in boards), *(port.bay for port in node.tag.ports if port.bay)]
