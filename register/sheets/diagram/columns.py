"""Widths of a sheet: layers and the channels between them, and the tracks in which wires bend there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from register.sheets.diagram import wording
from register.sheets.diagram.blocks import LEFT, RIGHT, Attachment, Line, Part, Stack, Stop, Text
from register.sheets.diagram.measures import DIVIDER, FLAG, FLAG_GAP, GUTTER, LINE, PAD, POINT, SIZE, TRACK
from register.sheets.diagram.text import width, wrap
from register.sheets.diagram.wiring import Column, Conductor, Hop, NodeKind, Run

_LEAST = {NodeKind.DEVICE: 112.0, NodeKind.STRIP: 50.0, NodeKind.OTHER_LOOP: 92.0}
_MOST = {NodeKind.DEVICE: 180.0, NodeKind.STRIP: 80.0, NodeKind.OTHER_LOOP: 140.0}
_LEAST_WITH_TWO_SIDES = 132.0
_LEAST_CONTROLLER, _MOST_CONTROLLER = 140.0, 220.0
_LEAST_LABELS = 48.0
_MOST_NEEDED_LABELS = 90.0
_EMPTY_COLUMN = 60.0
_TERMINAL_MOST = 48.0


@dataclass
class Span:
    """A layer or a channel, from left to right."""

    least: float
    wanted: float
    stretches: bool = False
    x: float = 0
    width: float = 0

    @property
    def right(self) -> float:
        return self.x + self.width


@dataclass(frozen=True)
class Bend:
    """Where a conductor changes its height: in a channel, between a node's rows and the run's own or another's."""

    run: Run
    conductor: int
    at_last: bool


class Columns:
    """Places of one sheet from left to right."""

    def __init__(self, stack: Stack, column_of: dict[int, Column], room: float):
        self.stack = stack
        self.column_of = column_of
        self.layers = sorted(column_of)
        self.bends = self._bends()
        self.parts: dict[int, list[Part]] = defaultdict(list)
        for part in stack.parts:
            self.parts[part.node.layer].append(part)
        self.spans = {covered: span for layer in self.layers for covered, span in self._spans(layer)}
        self._share(room)
        self._wrap()

    @property
    def width(self) -> float:
        return max(span.right for span in self.spans.values())

    def layer(self, layer: int) -> Span:
        return self.spans[2 * layer]

    def channel(self, layer: int) -> Span:
        """The channel on the right of a layer."""
        return self.spans[2 * layer + 1]

    def labels_x(self, layer: int) -> float:
        return self.channel(layer).x + PAD

    def labels_room(self, layer: int) -> float:
        """Room for text beside the wires that leave a layer to the right."""
        return self.channel(layer).width - self._fixed(layer) - PAD

    def track_x(self, layer: int, bend: Bend) -> float:
        start = self.channel(layer).right - self._fixed(layer) + PAD
        return start + TRACK * self.bends[layer].index(bend)

    def divider_x(self, layer: int) -> float:
        """The border between a layer's column and the next."""
        return self.channel(layer).right - PAD - DIVIDER

    def ends_column(self, layer: int) -> bool:
        return layer != self.layers[-1] and self.column_of[layer] != self.column_of[self._next(layer)]

    def _next(self, layer: int) -> int:
        return self.layers[self.layers.index(layer) + 1]

    def flags_a_line(self) -> dict[int, int]:
        """How many flags fit beside each other in a layer's boxes; a careful count, for heights come of it."""
        return {layer: max(1, int(self._room_for_flags(layer) / (FLAG[0] + FLAG_GAP))) for layer in self.layers}

    def _room_for_flags(self, layer: int) -> float:
        attachments = (one for part in self.parts[layer] for _, one in part.blocks)
        if any(len({text.side for text in one.texts}) > 1 for one in attachments):
            return (self.layer(layer).width - 2 * _TERMINAL_MOST - PAD) / 2
        return self.layer(layer).width - GUTTER - _TERMINAL_MOST - PAD

    # Texts

    def lines_span(self, part: Part) -> tuple[float, float]:
        """Where the lines of a box begin and end."""
        span = self.layer(part.node.layer)
        if part.node.kind == NodeKind.OTHER_LOOP:
            return span.x + PAD, span.right - POINT - PAD
        if part.lines_below:
            return span.x + PAD + 1, span.right - PAD
        return span.x + GUTTER + PAD, span.right - (terminal_room(part, RIGHT) if part.has_gutter else PAD)

    def text_span(self, part: Part, attachment: Attachment, text: Text) -> tuple[float, float]:
        """Where the lines beside terminals begin and end; half of the box where there are some on both sides."""
        span = self.layer(part.node.layer)
        start = span.x + (GUTTER if part.has_gutter else 0) + terminal_room(part, LEFT)
        end = span.right - terminal_room(part, RIGHT) - (POINT if part.node.kind == NodeKind.OTHER_LOOP else 0)
        if len({one.side for one in attachment.texts}) == 1:
            return start, end
        middle = (start + end) / 2
        return (start, middle - PAD / 2) if text.side == LEFT else (middle + PAD / 2, end)

    def _wrap(self) -> None:
        """Part the lines that are too long for their place."""
        for part in self.stack.parts:
            for _, attachment in part.blocks:
                for text in attachment.texts:
                    text.lines = _wrapped(text.lines, self.text_span(part, attachment, text))
            beside = _wrapped(part.lines, self.lines_span(part))
            if part.has_gutter:
                part.lines_below = True
                below = _wrapped(part.lines, self.lines_span(part))
                texts = sum(max((len(text.lines) for text in one.texts), default=0) for _, one in part.blocks)
                part.lines_below = max(texts, part.least_height / LINE) + len(below) < texts + len(beside)
            part.lines = below if part.lines_below else beside

    # Bends

    def _bends(self) -> dict[int, list[Bend]]:
        """By the layer on a channel's left, those near it first."""
        made: dict[int, list[Bend]] = defaultdict(list)
        rows_at, own_rows = self.stack.rows_at, self.stack.own_rows
        for run in self.stack.own_rows:
            last = len(run.nodes) - 1
            for nth in range(len(run.conductors)):
                if run.turns_back or rows_at[run, 0] is not own_rows[run]:
                    made[run.first.layer].append(Bend(run, nth, at_last=False))
                if not run.turns_back and rows_at[run, last] is not own_rows[run]:
                    before = max(layer for layer in self.layers if layer < run.last.layer)
                    made[before].append(Bend(run, nth, at_last=True))
        return {layer: sorted(bends, key=lambda bend: bend.at_last) for layer, bends in made.items()}

    # Widths

    def _spans(self, layer: int) -> Iterator[tuple[int, Span]]:
        parts = self.parts[layer]
        if parts:
            least = max(_least(part) for part in parts)
            yield 2 * layer, Span(least, max(least, *(_wanted(part) for part in parts)))
        else:
            yield 2 * layer, Span(_EMPTY_COLUMN, _EMPTY_COLUMN)
        fixed = self._fixed(layer)
        hops = [
            (run, nth) for run in self.stack.own_rows for nth, node in enumerate(run.nodes[:-1]) if node.layer == layer
        ]
        if hops:
            needed = max(width(text, SIZE) + 2 for hop in hops for text in _core_labels(*hop))
            wanted = max(width(text, SIZE) + 2 for hop in hops for text in _labels(*hop))
            least = min(max(_LEAST_LABELS, needed), _MOST_NEEDED_LABELS)
            yield 2 * layer + 1, Span(fixed + PAD + least, fixed + PAD + max(least, wanted), True)
        elif layer != self.layers[-1]:
            yield 2 * layer + 1, Span(fixed + PAD, fixed + PAD)
        else:
            yield 2 * layer + 1, Span(0, 0)

    def _fixed(self, layer: int) -> float:
        """What a channel needs beside its text: tracks, the border of a column, a gap."""
        tracks = TRACK * len(self.bends.get(layer, ()))
        return (PAD + tracks if tracks else 0) + (DIVIDER if self.ends_column(layer) else 0) + PAD

    def _share(self, room: float) -> None:
        """Shrink towards the least that texts can live with, or stretch the channels, to fill the sheet."""
        spans = list(self.spans.values())
        least, wanted = sum(span.least for span in spans), sum(span.wanted for span in spans)
        spare = room - 2 * PAD
        if wanted > spare:
            part = max(0.0, (spare - least) / (wanted - least)) if wanted > least else 0
            for span in spans:
                span.width = span.least + (span.wanted - span.least) * part
        else:
            stretching = [span for span in spans if span.stretches] or [self.spans[2 * self.layers[0] + 1]]
            for span in spans:
                span.width = span.wanted + ((spare - wanted) / len(stretching) if span in stretching else 0)
        x = PAD
        for _, span in sorted(self.spans.items()):
            span.x = x
            x += span.width


def _core_labels(run: Run, nth: int) -> list[str]:
    """What must be readable along a run's nth hop: core, colour and polarity of each conductor."""
    return ["", *(hop_label(one.hops[nth], one) for one in run.conductors if not one.is_screen)]


def _labels(run: Run, nth: int) -> list[str]:
    """All that is written there: the cable and its screen as well."""
    return [
        hop_header([one.hops[nth] for one in run.conductors]),
        *(hop_label(one.hops[nth], one) for one in run.conductors),
    ]


def hop_header(hops: list[Hop]) -> str:
    cores = {hop.core.cable.name: hop.core for hop in hops if hop.core}
    return " / ".join(map(wording.cable_label, cores.values())) if cores else f"wiring {wording.NOT_RECORDED}"


def hop_label(hop: Hop, conductor: Conductor) -> str:
    if hop.core is None:
        return ""
    if conductor.is_screen:
        return wording.screen_label(hop.core)
    return wording.core_label(hop.core)


def terminal_room(part: Part, side: str) -> float:
    """Room inside a box for the terminals on one side."""
    if side not in part.sides:
        return PAD
    return min(max(width(label, SIZE) for label in part.terminals(side)) + 2 * PAD, _TERMINAL_MOST)


def _wrapped(lines: list[Line], span: tuple[float, float]) -> list[Line]:
    room = span[1] - span[0]
    return [Line(words, line.bold) for line in lines for words in wrap(line.text, room, SIZE, bold=line.bold)]


def _line_width(line: Line) -> float:
    return width(line.text, SIZE, bold=line.bold)


def _least(part: Part) -> float:
    if part.node.kind == NodeKind.STRIP:
        return min(_wanted(part), _LEAST[NodeKind.STRIP])
    if part.node.is_controller:
        return _LEAST_CONTROLLER
    return _LEAST_WITH_TWO_SIDES if part.sides >= {LEFT, RIGHT} else _LEAST[part.node.kind]


def _wanted(part: Part) -> float:
    """The width at which nothing in a box is cut, within reason."""
    most = _MOST_CONTROLLER if part.node.is_controller else _MOST[part.node.kind]
    texts = [_line_width(line) for line in part.lines]
    slots = {
        side: max(
            (
                _line_width(line)
                for _, one in part.blocks
                for text in one.texts
                if text.side == side
                for line in text.lines
            ),
            default=0,
        )
        for side in (LEFT, RIGHT)
    }
    terminals = terminal_room(part, LEFT) + terminal_room(part, RIGHT)
    if part.node.kind == NodeKind.STRIP:
        return min(max(width(part.node.name, SIZE, bold=True) + 2 * PAD, _strip_cells(part)), most)
    if part.has_gutter:
        return min(GUTTER + PAD + max(*slots.values(), *texts, 0) + terminals, most)
    both = part.sides >= {LEFT, RIGHT} and not part.node.is_controller
    beside = terminals + (slots[LEFT] + slots[RIGHT] + PAD if both else max(slots.values()))
    head = max(texts, default=0) + (GUTTER if part.node.kind == NodeKind.DEVICE else PAD) + 2 * PAD
    return min(max(beside, head), most)


def _strip_cells(part: Part) -> float:
    return max((width(cell, SIZE) + 2 * PAD for cell in strip_cells(part)), default=0)


def strip_cells(part: Part) -> list[str]:
    """The terminals of a strip, row by row: one number, or two where the wires stand on two."""
    return [cell for _, attachment in part.blocks for stop in attachment.stops for cell in cells_of(stop)]


def cells_of(stop: Stop) -> list[str]:
    made = []
    for conductor in stop.run.conductors:
        ends = dict.fromkeys(filter(None, (stop.terminal(conductor, side) for side in stop.sides)))
        made.append(" | ".join(ends))
    return made
