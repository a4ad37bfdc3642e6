"""The loop diagram: a loop's instruments and every wire between them, drawn from the loop alone.

:func:`draw` lays out; :func:`register.sheets.diagram.svg.svg` writes what it laid out. From the loop to the shapes it
goes through ``wiring`` (what is connected), ``order`` (what stands below what), ``blocks`` (heights), ``columns``
(widths), ``paint`` and ``frame`` (shapes).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from register.plant.diff import Change
from register.plant.values import Loop
from register.rules.engine import Verdict
from register.sheets.diagram import wording
from register.sheets.diagram.blocks import Stack
from register.sheets.diagram.columns import Columns
from register.sheets.diagram.flags import Places, numbered
from register.sheets.diagram.frame import draw_frame, draw_loop_flags, number_sheet
from register.sheets.diagram.measures import HEADING, LINE, PAD
from register.sheets.diagram.order import Band, bands_of
from register.sheets.diagram.paint import Painter
from register.sheets.diagram.shapes import Drawing
from register.sheets.diagram.svg import AddressOf, LinkFor, svg
from register.sheets.diagram.wiring import Node, NodeKind, Wiring, wiring_of

WIDTH = 785.0
"""A4 landscape between margins of 10 mm, in points."""


def draw(
    loop: Loop,
    verdicts: Iterable[Verdict] = (),
    *,
    changes: Sequence[Change] = (),
    width: float = WIDTH,
    first_height: float | None = None,
    later_height: float | None = None,
) -> list[Drawing]:
    """The sheets of a loop's diagram: one, or as many as the greatest heights of the first and the later make needful.

    A drawing is wider than asked for only where its texts could not be told apart otherwise. The places of ``changes``
    are marked as changed.
    """
    wiring = wiring_of(loop)
    places = Places(loop, numbered(verdicts), changes)
    bands = bands_of(wiring)
    sheets = list(_sheets(wiring, places, bands, width, first_height, later_height or first_height))
    drawn = [
        _drawing(wiring, places, on_sheet, width, _notes(sheets, number))
        for number, on_sheet in enumerate(sheets, start=1)
    ]
    for number, drawing in enumerate(drawn, start=1):
        drawing.number, drawing.of = number, len(drawn)
        if len(drawn) > 1:
            number_sheet(drawing)
    return drawn


def render_svg(
    loop: Loop,
    verdicts: Iterable[Verdict] = (),
    link_for: LinkFor | None = None,
    address_of: AddressOf | None = None,
    changes: Sequence[Change] = (),
) -> str:
    """The whole diagram in one drawing, for a page.

    ``link_for`` gives the address of another loop by its number, ``address_of`` that of a part of this one; the places
    of ``changes`` are marked.
    """
    (drawing,) = draw(loop, verdicts, changes=changes)
    return svg(drawing, link_for, address_of)


def _sheets(
    wiring: Wiring, places: Places, bands: list[Band], width: float, height: float | None, later_height: float | None
) -> Iterator[list[Band]]:
    """The bands of each sheet: as many whole groups as fit or, where one group does not, as many bands."""
    start = 0
    while height is not None and start < len(bands):
        end = start + 1
        while end < len(bands) and _fits(wiring, places, bands[start : end + 1], width, height):
            end += 1
        if end == len(bands):
            break
        whole = [nth for nth in range(start + 1, end + 1) if bands[nth].group != bands[nth - 1].group]
        end = max(whole, default=end)
        yield bands[start:end]
        start, height = end, later_height
    yield bands[start:]


def _fits(wiring: Wiring, places: Places, bands: list[Band], width: float, most_height: float) -> bool:
    drawing = _drawing(wiring, places, bands, width, {})
    scale = width / drawing.width
    return (drawing.height + LINE) * scale <= most_height  # a line more for where the rest is


def _notes(sheets: Sequence[Sequence[Band]], number: int) -> dict[Node, str]:
    """Of nodes that stand on other sheets as well: on which, or where they are described."""
    on: dict[Node, list[int]] = {}
    for nth, bands in enumerate(sheets, start=1):
        for node in dict.fromkeys(node for band in bands for node in band.nodes):
            on.setdefault(node, []).append(nth)
    notes = {}
    for node, numbers in on.items():
        if number in numbers and len(numbers) > 1:
            others = ", ".join(str(one) for one in numbers if one != number)
            notes[node] = f"also on sheet {others}" if number == numbers[0] else f"see sheet {numbers[0]}"
    return notes


def _drawing(wiring: Wiring, places: Places, bands: Sequence[Band], width: float, notes: dict[Node, str]) -> Drawing:
    nodes = list(dict.fromkeys(node for band in bands for node in band.nodes))
    stack = Stack(bands, places, {node: _lines(node, notes.get(node, "")) for node in nodes})
    columns = Columns(stack, {node.layer: node.column for node in nodes} | wiring.empty_layers, width)
    loop = wiring.loop
    drawing = Drawing(max(width, columns.width + PAD), 0, f"Loop diagram of {loop.number}", describe(loop))
    top = draw_loop_flags(drawing, places.of_loop, HEADING + PAD)
    lowest = stack.set_heights(top + PAD, columns.flags_a_line())
    Painter(drawing, stack, columns).paint()
    draw_frame(drawing, wiring, columns, lowest)
    return drawing


def _lines(node: Node, note: str) -> list[str]:
    """What stands with a node's bubble or name; on later sheets only where it is described."""
    if node.kind == NodeKind.STRIP:
        return []
    if node.kind == NodeKind.OTHER_LOOP:
        return [f"loop {node.tag.loop}" if node.tag else "not in the register"]
    if note.startswith("see"):
        return [note]
    return [*wording.device_lines(node.tag), *filter(None, [note])]


def describe(loop: Loop) -> str:
    """The diagram in words, for those who cannot see it."""
    devices = [f"{tag.name}, {tag.role}, {tag.location or 'location not recorded'}" for tag in loop.tags]
    links = [
        f"{link.source_tag} {link.source_port} to {link.target_tag} {link.target_port}"
        + (f" by {', '.join(cable.name for cable in link.cables)}" if link.cores else ", wiring not recorded")
        for link in loop.links
    ]
    return ". ".join(filter(None, ("; ".join(devices), "; ".join(links)))) or "No tags are recorded"
