"""A sheet's boxes, rows and columns become shapes with their places."""

from __future__ import annotations

from register.plant.words import Location
from register.sheets.diagram import wording
from register.sheets.diagram.blocks import LEFT, RIGHT, Block, Line, Part, Stack, Stop
from register.sheets.diagram.columns import Bend, Columns, cells_of, hop_header, hop_label, terminal_room
from register.sheets.diagram.flags import Mark, put
from register.sheets.diagram.measures import (
    BUBBLE,
    FLAG,
    FLAG_GAP,
    HEADER,
    LINE,
    PAD,
    SIZE,
    SYMBOL,
)
from register.sheets.diagram.shapes import (
    Box,
    Bubble,
    Drawing,
    Earth,
    Label,
    Outline,
    Shown,
    Symbol,
    Terminal,
    Wire,
)
from register.sheets.diagram.symbols import letters_and_number
from register.sheets.diagram.text import fit, fit_facts
from register.sheets.diagram.wiring import Column, Node, NodeKind, Run

_WORDS_FOR_COLUMN = {
    "field": Column.FIELD,
    "junction box": Column.JUNCTION_BOX,
    "marshalling": Column.RACK,
    "rack": Column.RACK,
    "panel": Column.PANEL,
}
_LOCATION = {
    Column.FIELD: Location.FIELD,
    Column.JUNCTION_BOX: Location.JUNCTION_BOX,
    Column.RACK: Location.RACK,
    Column.PANEL: Location.PANEL,
}
_OVER_WIRE = 2.0  # from a wire up to the baseline of its text
_SCREEN_END = 7.0  # between a screen's end and the terminals that it does not reach


class Painter:
    def __init__(self, drawing: Drawing, stack: Stack, columns: Columns):
        self.drawing = drawing
        self.stack = stack
        self.columns = columns
        self.part_at = {(block, attachment.node): part for part in stack.parts for block, attachment in part.blocks}

    def paint(self) -> None:
        for part in self.stack.parts:
            self._part(part)
        for run in self.stack.own_rows:
            self._run(run)

    # Boxes

    def _part(self, part: Part) -> None:
        span = self.columns.layer(part.node.layer)
        box = Box(span.x, part.top, span.width, part.bottom - part.top)
        leads_to = part.node.tag.loop if part.node.kind == NodeKind.OTHER_LOOP and part.node.tag else ""
        shows = Shown("tag", part.node.name) if part.node.kind == NodeKind.DEVICE else None
        self.drawing.outlines.append(Outline(box, part.node.kind.value, leads_to, shows))
        self._terminals(part, box)
        if part.node.kind == NodeKind.STRIP:
            self._strip(part, box)
            return
        if part.node.kind == NodeKind.DEVICE:
            self._bubble_and_symbol(part, box)
            self._boards(part, box)
        top = box.y + PAD
        if part.has_gutter:
            top = part.text_top(self.columns.flags_a_line()[part.node.layer])
        self._lines(part.lines, part.flags, self.columns.lines_span(part), top)
        self._texts(part)

    def _bubble_and_symbol(self, part: Part, box: Box) -> None:
        self._bubble(part.node, box.x + PAD + BUBBLE / 2, box.y + PAD + BUBBLE / 2)
        if part.symbol:
            place = Box(box.x + PAD + (BUBBLE - SYMBOL[0]) / 2, box.y + PAD + BUBBLE + 3, *SYMBOL)
            self.drawing.symbols.append(Symbol(place, part.symbol, wording.fail_position(part.node.tag)))

    def _bubble(self, node: Node, x: float, y: float) -> None:
        location = node.tag.location or _LOCATION[node.column]
        self.drawing.bubbles.append(Bubble(x, y, BUBBLE / 2, location))
        letters, number = letters_and_number(node.name)
        rows = [(letters, y - 2.6), (number, y + 8.2)] if number else [(letters, y - 2.6)]
        for words, baseline in rows:
            shown = fit(words, BUBBLE - 6, 7.0, bold=True)
            self.drawing.labels.append(Label(x, baseline, shown, 7.0, "middle", bold=True))

    def _lines(
        self, lines: list[Line], flags: list[Mark], span: tuple[float, float], top: float, anchor: str = "start"
    ) -> None:
        """Lines below each other from a height down, and flags below them."""
        x = span[1] if anchor == "end" else span[0]
        for nth, line in enumerate(lines):
            baseline = top + LINE * (nth + 1) - 2
            self.drawing.labels.append(Label(x, baseline, line.text, SIZE, anchor, line.bold))
        self._flags(flags, span[0], top + LINE * len(lines) + FLAG_GAP, span[1] - span[0])

    def _flags(self, flags: list[Mark], x: float, y: float, room: float) -> None:
        a_line = max(1, int((room + FLAG_GAP) / (FLAG[0] + FLAG_GAP)))
        for nth, one in enumerate(flags):
            row, place = divmod(nth, a_line)
            put(self.drawing, one, x + place * (FLAG[0] + FLAG_GAP), y + row * (FLAG[1] + FLAG_GAP))

    def _terminals(self, part: Part, box: Box) -> None:
        for block, attachment in part.blocks:
            for stop in attachment.stops:
                for side in stop.sides:
                    self._side_terminals(part, box, block, stop, side)

    def _side_terminals(self, part: Part, box: Box, block: Block, stop: Stop, side: str) -> None:
        x, inward = (box.x, 1) if side == LEFT else (box.right, -1)
        room = terminal_room(part, side) - PAD - 1
        for nth, conductor in enumerate(stop.run.conductors):
            label = stop.terminal(conductor, side)
            if conductor.is_screen and not label:
                continue
            self.drawing.terminals.append(Terminal(x, block.row(nth)))
            if label and part.node.kind != NodeKind.STRIP:
                shown = fit(label, room, SIZE)
                anchor = "start" if side == LEFT else "end"
                place = x + inward * PAD
                self.drawing.labels.append(Label(place, block.row(nth) + 2.4, shown, SIZE, anchor))

    def _strip(self, part: Part, box: Box) -> None:
        middle, room = box.x + box.width / 2, box.width - 2 * PAD
        name = fit(part.node.name, box.width - 3, SIZE, bold=True)
        self.drawing.labels.append(Label(middle, box.y + LINE, name, SIZE, "middle", bold=True))
        for block, attachment in part.blocks:
            for stop in attachment.stops:
                for nth, cell in enumerate(cells_of(stop)):
                    if cell:
                        shown = fit(cell, room, SIZE)
                        self.drawing.labels.append(Label(middle, block.row(nth) + 2.4, shown, SIZE, "middle"))

    def _texts(self, part: Part) -> None:
        """What stands beside the terminals of each attachment."""
        for block, attachment in part.blocks:
            for text in attachment.texts:
                anchor = "end" if text.side == RIGHT else "start"
                self._lines(
                    text.lines, text.flags, self.columns.text_span(part, attachment, text), block.top + 1, anchor
                )

    def _boards(self, part: Part, box: Box) -> None:
        """Around the ports of each option board, the bay that it sits in."""
        stretches: list[tuple[str, float, float]] = []
        for block, attachment in part.blocks:
            if attachment.bay and stretches and stretches[-1][0] == attachment.bay:
                stretches[-1] = (attachment.bay, stretches[-1][1], block.bottom)
            else:
                stretches.append((attachment.bay, block.top, block.bottom))
        for bay, top, bottom in stretches:
            if bay:
                inner = Box(box.x + 1.8, top - 0.2, box.width - 3.6, bottom - top)
                shows = Shown("board", part.node.name, bay)
                self.drawing.outlines.append(Outline(inner, "board", shows=shows))

    # Wires

    def _run(self, run: Run) -> None:
        for nth in range(len(run.nodes) - 1):
            self._hop_texts(run, nth)
            for place in range(len(run.conductors)):
                self._wire(run, nth, place)

    def _hop_texts(self, run: Run, nth: int) -> None:
        layer = run.nodes[nth].layer
        x, room = self.columns.labels_x(layer), self.columns.labels_room(layer)
        block = self.stack.rows_at[run, nth]
        hops = [conductor.hops[nth] for conductor in run.conductors]
        flags = self.stack.places.of_link.get(run.link, []) if nth == 0 else []
        taken = min(len(flags), int(room / 2 / (FLAG[0] + FLAG_GAP))) * (FLAG[0] + FLAG_GAP)
        self._flags(flags[: int(taken / (FLAG[0] + FLAG_GAP))], x, block.top, room)
        header = fit_facts(hop_header(hops), room - taken, SIZE)
        self.drawing.labels.append(Label(x + taken, block.top + HEADER - 2.8, header, SIZE, quiet=True))
        for place, (hop, conductor) in enumerate(zip(hops, run.conductors, strict=True)):
            if words := hop_label(hop, conductor):
                shown = fit_facts(words, room, SIZE)
                self.drawing.labels.append(Label(x, block.row(place) - _OVER_WIRE, shown, SIZE))

    def _wire(self, run: Run, nth: int, place: int) -> None:
        conductor = run.conductors[place]
        hop = conductor.hops[nth]
        left, right = run.nodes[nth], run.nodes[nth + 1]
        points = [(self.columns.layer(left.layer).right, self.stack.rows_at[run, nth].row(place))]
        end_y = self.stack.rows_at[run, nth + 1].row(place)
        if run.turns_back:
            track = self.columns.track_x(left.layer, Bend(run, place, at_last=False))
            points += [(track, points[0][1]), (track, end_y), (points[0][0], end_y)]
        else:
            own_y = self.stack.own_rows[run].row(place)
            if nth == 0 and points[0][1] != own_y:
                track = self.columns.track_x(left.layer, Bend(run, place, at_last=False))
                points += [(track, points[0][1]), (track, own_y)]
            if end_y != own_y:
                before = max(layer for layer in self.columns.layers if layer < right.layer)
                track = self.columns.track_x(before, Bend(run, place, at_last=True))
                points += [(track, own_y), (track, end_y)]
            points.append((self.columns.layer(right.layer).x, end_y))
        if conductor.is_screen:
            if hop.core is not None:
                self._screen(points, hop, left, right)
        else:
            shows = Shown("link", run.link.target_tag, run.link.target_port)
            self.drawing.wires.append(Wire(tuple(points), "conductor" if hop.core else "unrecorded", shows))

    def _screen(self, points, hop, left: Node, right: Node) -> None:
        """A screen, drawn up to its terminals where it has any, with the mark of earth at the ends that are earthed."""
        (first_x, first_y), (last_x, last_y) = points[0], points[-1]
        back = 1 if last_x > first_x else -1
        if not hop.left_terminal:
            points[0] = (first_x + _SCREEN_END, first_y)
        if not hop.right_terminal:
            points[-1] = (last_x - back * _SCREEN_END, last_y)
        self.drawing.wires.append(Wire(tuple(points), "screen"))
        ends = {left: (first_x + _SCREEN_END, first_y), right: (last_x - back * _SCREEN_END, last_y)}
        for node in _earthed_ends(hop.core.cable.screen_earthed_at, left, right):
            self.drawing.earths.append(Earth(*ends[node]))


def _earthed_ends(places: tuple[str, ...], left: Node, right: Node) -> set[Node]:
    """The ends of a screen that the recorded places mean; each place means one end, the better match."""
    ends = set()
    for place in places:
        likeness = {node: _likeness(place.casefold(), node) for node in (right, left)}
        node = max(likeness, key=likeness.get)
        if likeness[node]:
            ends.add(node)
    return ends


def _likeness(place: str, node: Node) -> int:
    """How surely a recorded place is where a node stands: by name, by the beginning of a name, by column, not."""
    names = [name.casefold() for name in (node.name, node.tag.place if node.tag else "") if name]
    if place in names:
        return 3
    if any(name.startswith(place) or place.startswith(name) for name in names):
        return 2
    return int(_WORDS_FOR_COLUMN.get(place) == node.column)
