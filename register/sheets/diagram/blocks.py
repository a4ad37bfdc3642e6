"""Bands of runs become rows and boxes on a sheet, and get their heights.

Every conductor has rows of its own wherever it passes, so wires never lie on each other. Boxes of one layer stand below
each other. A device that meets runs which lie apart in its layer takes the nearest ones in place and further rows, its
*stubs*, for the others: those wires bend between the layers.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from register.sheets.diagram import wording
from register.sheets.diagram.flags import Mark, Places
from register.sheets.diagram.measures import (
    BUBBLE,
    EARTH,
    FLAG,
    FLAG_GAP,
    GAP,
    HEADER,
    LINE,
    PAD,
    PITCH,
    ROW_GAP,
    SYMBOL,
)
from register.sheets.diagram.order import Band, Slot
from register.sheets.diagram.symbols import bubble_says_all, symbol_of
from register.sheets.diagram.wiring import Column, Conductor, Node, NodeKind, Run, port_of

LEFT, RIGHT = "left", "right"


@dataclass(frozen=True)
class Stop:
    """A run at one of its nodes, the nth on its way."""

    run: Run
    nth: int

    @property
    def node(self) -> Node:
        return self.run.nodes[self.nth]

    @property
    def is_last(self) -> bool:
        return self.nth == len(self.run.nodes) - 1

    @property
    def port(self) -> str:
        """The link's port where the run ends here."""
        return self.run.first_port if self.nth == 0 else self.run.last_port if self.is_last else ""

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides of the node on which the run's wires meet it."""
        if self.nth == 0 or self.run.turns_back:
            return (RIGHT,)
        return (LEFT,) if self.is_last else (LEFT, RIGHT)

    def terminal(self, conductor: Conductor, side: str) -> str:
        if self.run.turns_back:
            hop = conductor.hops[0]
            return hop.right_terminal if self.is_last else hop.left_terminal
        return conductor.hops[self.nth - 1].right_terminal if side == LEFT else conductor.hops[self.nth].left_terminal


@dataclass(frozen=True)
class Line:
    text: str
    bold: bool = False


@dataclass(eq=False)
class Text:
    """Lines beside terminals on one side, and the flags below them."""

    side: str
    lines: list[Line]
    flags: list[Mark]

    def height(self, flags_a_line: int) -> float:
        return len(self.lines) * LINE + flag_lines(self.flags, flags_a_line) + PAD


@dataclass(eq=False)
class Attachment:
    """A node on a block's rows: the runs that end or pass there, and what is written beside its terminals."""

    node: Node
    stops: list[Stop]
    texts: list[Text] = field(default_factory=list)
    bay: str = ""
    has_port: bool = True

    @property
    def sides(self) -> set[str]:
        return {side for stop in self.stops for side in stop.sides}


@dataclass(eq=False)
class Block:
    """Rows that a band takes: its own, or those of a stub at one node.

    ``covers`` are the layers and the channels between them that it takes up: layer n is 2n, the channel on its right
    2n + 1.
    """

    runs: list[Run]
    attachments: list[Attachment]
    covers: set[int]
    top: float = 0
    height: float = 0

    @property
    def bottom(self) -> float:
        return self.top + self.height

    def row(self, place: int) -> float:
        """Height of a conductor's wire."""
        return self.top + HEADER + PITCH * (place + 1) - 2.6

    def at(self, covered: int) -> Attachment | None:
        """What the rows meet in a layer; None in a channel, and where they only pass."""
        return next((one for one in self.attachments if 2 * one.node.layer == covered), None)


@dataclass(eq=False)
class Part:
    """A box of the drawing: a device, a stretch of a strip, or a reference to another loop."""

    node: Node
    blocks: list[tuple[Block, Attachment]] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    flags: list[Mark] = field(default_factory=list)
    symbol: str = ""
    lines_below: bool = False  # of a box with a gutter: below the bubble, too, instead of beside it
    top: float = 0
    bottom: float = 0

    @property
    def sides(self) -> set[str]:
        return {side for _, attachment in self.blocks for side in attachment.sides}

    @property
    def has_gutter(self) -> bool:
        """Bubble and symbol stand to the left of the terminals; else above them."""
        node = self.node
        return node.kind == NodeKind.DEVICE and node.column == Column.FIELD and LEFT not in self.sides

    def terminals(self, side: str) -> list[str]:
        return [
            stop.terminal(conductor, side)
            for _, attachment in self.blocks
            for stop in attachment.stops
            if side in stop.sides
            for conductor in stop.run.conductors
        ]

    def head(self, flags_a_line: int) -> float:
        """What stands above the first block's rows."""
        if self.node.kind == NodeKind.STRIP:
            return LINE + 3
        if self.has_gutter:
            return PAD
        text = len(self.lines) * LINE + flag_lines(self.flags, flags_a_line)
        bubble = BUBBLE + (SYMBOL[1] + 3 if self.symbol else 0) if self.node.kind == NodeKind.DEVICE else 0
        return PAD + max(text, bubble) + 3

    def text_top(self, flags_a_line: int) -> float:
        """Where the lines of a box with a gutter begin: below what stands at its last terminals."""
        block, attachment = self.blocks[-1]
        text = block.top + max((text.height(flags_a_line) for text in attachment.texts), default=0)
        return max(text, block.bottom, self.top + self.least_height) if self.lines_below else text

    def lowest(self, flags_a_line: int) -> float:
        """The lower edge, once the blocks have their places."""
        rows = self.blocks[-1][0].bottom + PAD
        if not self.has_gutter:
            return rows
        text = len(self.lines) * LINE + flag_lines(self.flags, flags_a_line) + PAD
        return max(rows, self.text_top(flags_a_line) + text, self.top + self.least_height)

    @property
    def least_height(self) -> float:
        return PAD + BUBBLE + (SYMBOL[1] + 3 if self.symbol else 0) + PAD if self.has_gutter else 0


def flag_lines(flags: Sequence[Mark], a_line: int) -> float:
    """Height that flags take below text."""
    return -(-len(flags) // a_line) * (FLAG[1] + FLAG_GAP)


class Stack:
    """The blocks of one sheet from top to bottom, and the boxes that they make."""

    def __init__(self, bands: Sequence[Band], places: Places, lines_of: dict[Node, list[str]]):
        self.bands = bands
        self.places = places
        self.described: set[tuple[Node, str]] = set()
        self.own_rows: dict[Run, Block] = {}
        self.rows_at: dict[tuple[Run, int], Block] = {}  # by stop: the run's own rows, or a stub's
        self.straight = _straight_bands(bands)
        self.blocks = list(self._blocks())
        self.parts = list(self._parts(lines_of))
        self._title_boards()

    def _is_straight(self, nth: int, stop: Stop) -> bool:
        """Whether the node takes the run on the run's own rows."""
        return nth in self.straight[stop.node] and not (stop.run.turns_back and stop.is_last)

    def _blocks(self) -> Iterator[Block]:
        stubs = self._stubs()
        moved = {nth for after in stubs.values() for nth, _ in after if self.bands[nth].slot}
        for nth, band in enumerate(self.bands):
            if nth not in moved:
                yield self._slot_block(band.slot) if band.slot else self._run_block(nth, band)
            for far, node in stubs.get(nth, ()):
                slot = self.bands[far].slot
                if slot:
                    yield self._slot_block(slot)
                else:
                    yield from self._stub_blocks(far, node)

    def _stubs(self) -> dict[int, list[tuple[int, Node]]]:
        """After which band come which stubs: of a band, at a node. They follow the node's box, or start one."""
        after: dict[int, list[tuple[int, Node]]] = defaultdict(list)
        homeless = []
        for node, straight in self.straight.items():
            bent = [
                nth
                for nth, band in enumerate(self.bands)
                if any(not self._is_straight(nth, stop) for stop in _stops(band, node))
                or (band.slot and band.slot.node is node and nth not in straight)
            ]
            if straight:
                after[max(straight)] += [(nth, node) for nth in bent]
            elif bent:
                homeless.append((node, bent))
        for node, bent in homeless:
            neighbour = next(run.first for run in self.bands[bent[0]].runs if node in run.nodes)
            last = max(self.straight[neighbour]) if bent[0] in self.straight[neighbour] else bent[0]
            after[last] += [(nth, node) for nth in bent]
        return after

    def _slot_block(self, slot: Slot) -> Block:
        node = slot.node
        flags = list(self.places.of_port[node.name, slot.port]) if slot.port else []
        lines = [Line(words) for words in _slot_lines(slot)]
        texts = [Text(LEFT, lines, flags)] if lines else []
        made = Attachment(node, [], texts, slot.bay, has_port=bool(slot.port))
        return Block([], [made], {2 * node.layer})

    def _stub_blocks(self, nth: int, node: Node) -> Iterator[Block]:
        """Rows for a band's wires at a node: on both of its sides together, but each end of what turns back alone."""
        stops = [stop for stop in _stops(self.bands[nth], node) if not self._is_straight(nth, stop)]
        if any(stop.run.turns_back for stop in stops):
            yield from (self._stub_block(node, [stop]) for stop in stops)
        else:
            yield self._stub_block(node, stops)

    def _stub_block(self, node: Node, stops: list[Stop]) -> Block:
        covers = {2 * node.layer}
        for stop in stops:
            covers |= {2 * node.layer + (1 if side == RIGHT else -1) for side in stop.sides}
        block = Block([stop.run for stop in stops], [self._attachment(node, stops)], covers)
        self.rows_at |= {(stop.run, stop.nth): block for stop in stops}
        return block

    def _run_block(self, nth: int, band: Band) -> Block:
        block = Block(band.runs, [], set())
        met: dict[Node, list[Stop]] = defaultdict(list)
        for run in band.runs:
            self.own_rows[run] = block
            stops = [Stop(run, place) for place in range(len(run.nodes))]
            for stop in stops:
                if self._is_straight(nth, stop):
                    met[stop.node].append(stop)
                    self.rows_at[run, stop.nth] = block
            left, right = 2 * run.first.layer, 2 * run.last.layer
            if run.turns_back:
                block.covers |= {left, left + 1} if self._is_straight(nth, stops[0]) else {left + 1}
            else:
                bent_left, bent_right = (not self._is_straight(nth, stops[end]) for end in (0, -1))
                block.covers |= set(range(left + bent_left, right + 1 - bent_right))
        block.attachments = [self._attachment(node, stops) for node, stops in met.items()]
        return block

    def _attachment(self, node: Node, stops: list[Stop]) -> Attachment:
        made = Attachment(node, stops)
        for stop in stops:
            if stop.port and node.kind != NodeKind.STRIP:
                port = port_of(node, stop.port)
                name, *facts = wording.port_lines(node.tag, port, stop.port)
                flags = list(self.places.of_port[node.name, stop.port])
                if (node, stop.port) in self.described:
                    facts, flags = ["as above"], []
                self.described.add((node, stop.port))
                made.texts.append(Text(stop.sides[0], [Line(name, bold=True), *map(Line, facts)], flags))
                made.bay = made.bay or (port.bay if port else "")
        return made

    def _parts(self, lines_of: dict[Node, list[str]]) -> Iterator[Part]:
        """Boxes in the order in which they begin. A strip or reference that other wires interrupt begins again."""
        begun: dict[int, Part] = {}
        for block in self.blocks:
            for covered in sorted(block.covers):
                attachment = block.at(covered)
                if attachment is None:
                    begun.pop(covered, None)
                    continue
                if covered not in begun or begun[covered].node is not attachment.node:
                    begun[covered] = self._part(attachment.node, lines_of)
                    yield begun[covered]
                begun[covered].blocks.append((block, attachment))

    def _part(self, node: Node, lines_of: dict[Node, list[str]]) -> Part:
        if node.kind == NodeKind.STRIP:
            return Part(node)
        part = Part(node, lines=list(map(Line, lines_of[node])), flags=list(self.places.of_tag[node.name]))
        if node.kind == NodeKind.DEVICE:
            part.symbol = symbol_of(node.tag)
        if node.kind == NodeKind.OTHER_LOOP or not bubble_says_all(node.name):
            part.lines.insert(0, Line(node.name, bold=True))
        return part

    def _title_boards(self) -> None:
        """The first port of a board says which bay and board it belongs to."""
        for part in self.parts:
            before = ""
            for _, attachment in part.blocks:
                if attachment.bay and attachment.bay != before and part.node.kind == NodeKind.DEVICE:
                    text = attachment.texts[0]
                    text.flags += self.places.of_bay[part.node.name, attachment.bay]
                    text.flags.sort(key=lambda flag: flag.number)
                    if attachment.has_port or _board_in(part.node, attachment.bay):
                        title = Line(wording.board_line(part.node.tag, attachment.bay), bold=True)
                        text.lines = [title, *(Line(line.text) for line in text.lines)]
                before = attachment.bay

    def set_heights(self, top: float, flags_a_line: dict[int, int]) -> float:
        """Put every block and box at its height, from the top down; returns the lowest point."""
        free: dict[int, float] = defaultdict(lambda: top)
        begins = {part.blocks[0]: part for part in self.parts}
        ends = {part.blocks[-1]: part for part in self.parts}
        for block in self.blocks:
            block.height = self._height(block, flags_a_line)
            met = {covered: (block, block.at(covered)) for covered in block.covers}
            for covered, key in met.items():
                above = ROW_GAP if key[1] is None else 0
                if key in begins:
                    above = begins[key].head(flags_a_line[covered // 2])
                block.top = max(block.top, free[covered] + above)
            for covered, key in met.items():
                free[covered] = block.bottom
                if key in begins:
                    begins[key].top = block.top - begins[key].head(flags_a_line[covered // 2])
                if part := ends.get(key):
                    part.bottom = part.lowest(flags_a_line[covered // 2])
                    free[covered] = part.bottom + GAP
        return max((part.bottom for part in self.parts), default=top)

    def _height(self, block: Block, flags_a_line: dict[int, int]) -> float:
        rows = max((len(run.conductors) for run in block.runs), default=0)
        has_screen = any(conductor.is_screen for run in block.runs for conductor in run.conductors)
        needed = [HEADER + rows * PITCH + (EARTH if has_screen else 0) if rows else 0]
        for attachment in block.attachments:
            needed += [text.height(flags_a_line[attachment.node.layer]) for text in attachment.texts]
        return max(needed)


def _stops(band: Band, node: Node) -> list[Stop]:
    return [Stop(run, nth) for run in band.runs for nth, one in enumerate(run.nodes) if one is node]


def _straight_bands(bands: Sequence[Band]) -> dict[Node, set[int]]:
    """The bands that each node takes in place: those of a device that nothing else in its layer comes between, as many
    as may be; all of a strip or reference, which can begin again further down."""
    by_layer: dict[int, list[tuple[int, Node | None]]] = defaultdict(list)
    straight: dict[Node, set[int]] = {node: set() for band in bands for node in band.nodes}
    for nth, band in enumerate(bands):
        for layer, node in _met(band).items():
            by_layer[layer].append((nth, node))
    for met in by_layer.values():
        stretches: dict[Node, list[set[int]]] = defaultdict(list)
        before = None
        for nth, node in met:
            if node is not None:
                if node is not before:
                    stretches[node].append(set())
                stretches[node][-1].add(nth)
            before = node
        for node, found in stretches.items():
            straight[node] = max(found, key=len) if node.kind == NodeKind.DEVICE else set().union(*found)
    return straight


def _met(band: Band) -> dict[int, Node | None]:
    """The layers that a band passes, each with the node that it meets there."""
    met: dict[int, Node | None] = {}
    for run in band.runs:
        nodes = run.nodes[:1] if run.turns_back else run.nodes
        met |= dict.fromkeys(range(nodes[0].layer, nodes[-1].layer + 1), None) | {node.layer: node for node in nodes}
    if band.slot:
        met[band.slot.node.layer] = band.slot.node
    return met


def _board_in(node: Node, bay: str) -> bool:
    return bool(node.tag and node.tag.asset and node.tag.asset.board_in(bay))


def _slot_lines(slot: Slot) -> Iterator[str]:
    """A port that no link reaches, or a bay without a port; nothing for a node that has neither."""
    tag = slot.node.tag
    if slot.port:
        yield from wording.unwired_port_lines(tag, tag.port(slot.port))
    elif slot.bay and _board_in(slot.node, slot.bay):
        yield "no port uses it"
    elif slot.bay:
        yield wording.empty_bay_line(tag.model, slot.bay)
