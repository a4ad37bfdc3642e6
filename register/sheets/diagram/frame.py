"""What stands around a sheet's boxes and wires: column headings, borders, the hazardous area's boundary, the legend."""

from __future__ import annotations

from register.sheets.diagram import wording
from register.sheets.diagram.columns import Columns
from register.sheets.diagram.flags import Changed, Mark, put
from register.sheets.diagram.measures import FLAG, FLAG_GAP, HEADING, LINE, PAD, SIZE
from register.sheets.diagram.shapes import Divider, Drawing, Label
from register.sheets.diagram.text import fit
from register.sheets.diagram.wiring import Column, NodeKind, Wiring

HEADINGS = {
    Column.FIELD: "Field",
    Column.JUNCTION_BOX: "Junction box",
    Column.RACK: "Marshalling or rack",
    Column.PANEL: "Panel",
    Column.OTHER_LOOPS: "Other loops",
}
_HEADING_SIZE = 7.2
_SHEET_NUMBER = 90.0  # kept free for it at the right end of the legend
_LEGEND = {
    "screen": "dashed line: screen of the cable",
    "unrecorded": "dotted line: linked, its wiring not recorded",
}


def draw_loop_flags(drawing: Drawing, flags: list[Mark], top: float) -> float:
    """Findings and changes that concern the loop as a whole; returns where they end."""
    if not flags:
        return top
    label = Label(2 * PAD, top + FLAG[1] - 2, "Whole loop:", SIZE)
    drawing.labels.append(label)
    x = label.box.right + PAD
    for one in flags:
        if x + FLAG[0] > drawing.width - PAD:
            x, top = label.box.right + PAD, top + FLAG[1] + FLAG_GAP
        put(drawing, one, x, top)
        x += FLAG[0] + FLAG_GAP
    return top + FLAG[1] + FLAG_GAP


def draw_frame(drawing: Drawing, wiring: Wiring, columns: Columns, lowest: float) -> None:
    """Headings above, legend below; sets the drawing's height."""
    zones = _zones(wiring)
    boundary = _boundary(wiring, columns, set(zones))
    bottom = lowest + PAD + (LINE if boundary is not None else 0)
    left = 0.0
    for layer in columns.layers:
        last = layer == columns.layers[-1]
        if not last and not columns.ends_column(layer):
            continue
        right = drawing.width if last else columns.divider_x(layer)
        column = columns.column_of[layer]
        heading = " · ".join(filter(None, (HEADINGS[column], zones.get(column, ""))))
        shown = fit(heading, right - left - PAD, _HEADING_SIZE, bold=True)
        drawing.labels.append(Label((left + right) / 2, HEADING - 4, shown, _HEADING_SIZE, "middle", bold=True))
        if not last:
            drawing.dividers.append(Divider(right, HEADING, bottom, is_boundary=layer == boundary))
        if layer == boundary:
            words = ("hazardous area", "no zone recorded")
            drawing.labels.append(Label(right - PAD, bottom - 3, words[0], SIZE, "end", bold=True))
            drawing.labels.append(Label(right + PAD, bottom - 3, words[1], SIZE, bold=True))
        left = right
    drawing.height = bottom + _draw_legend(drawing, bottom)


def number_sheet(drawing: Drawing) -> None:
    words = f"diagram sheet {drawing.number} of {drawing.of}"
    drawing.labels.append(Label(drawing.width - 2 * PAD, drawing.height - PAD, words, SIZE, "end", bold=True))


def _draw_legend(drawing: Drawing, top: float) -> float:
    kinds = {wire.kind for wire in drawing.wires}
    words = [text for kind, text in _LEGEND.items() if kind in kinds]
    if "conductor" in kinds:
        words.insert(0, "above each wire: core · colour · polarity; above each cable: name · cores × size · length")
    if not words:
        words = ["nothing is wired"]
    left = 2 * PAD
    if drawing.change_marks:
        put(drawing, Changed(), left, top + 2)
        left += FLAG[0] + FLAG_GAP
        words.insert(0, "changed")
    shown = fit("  |  ".join(words), drawing.width - left - 2 * PAD - _SHEET_NUMBER, SIZE)
    drawing.labels.append(Label(left, top + LINE, shown, SIZE, quiet=True))
    drawing.rules.append((top, drawing.width))
    return LINE + PAD


def _zones(wiring: Wiring) -> dict[Column, str]:
    """The columns in which a tag stands in a hazardous area, with the area in words."""
    found: dict[Column, str] = {}
    for node in wiring.nodes:
        if node.kind == NodeKind.DEVICE and node.tag.zone:
            found.setdefault(node.column, next(wording.hazard_lines(node.tag)))
    return found


def _boundary(wiring: Wiring, columns: Columns, hazardous: set[Column]) -> int | None:
    """The layer after which the hazardous area ends: right before the first column that has an instrument and none in
    a zone. What lies between, such as a junction box, counts as hazardous; None where zones do not lie that way."""
    devices = {node.column for node in wiring.nodes if node.kind == NodeKind.DEVICE}
    outside = {column for column in devices if column > max(hazardous, default=Column.OTHER_LOOPS)}
    if not hazardous or not outside or min(devices) not in hazardous:
        return None
    return max((layer for layer in columns.layers if columns.column_of[layer] < min(outside)), default=None)
