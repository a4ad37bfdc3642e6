"""What must never happen on a drawing, as sentences; an empty list is a good drawing."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from register.sheets.diagram.shapes import Box, Drawing, Wire


def overlap(one: Box, other: Box, slack: float = 0.01) -> bool:
    return (
        one.x < other.right - slack
        and other.x < one.right - slack
        and one.y < other.bottom - slack
        and other.y < one.bottom - slack
    )


def contains(outer: Box, inner: Box, slack: float = 0.01) -> bool:
    return (
        outer.x <= inner.x + slack
        and outer.y <= inner.y + slack
        and outer.right >= inner.right - slack
        and outer.bottom >= inner.bottom - slack
    )


def pieces(wire: Wire) -> list[Box]:
    """The straight pieces of a wire, as boxes without width."""
    return [Box(min(ax, bx), min(ay, by), abs(ax - bx), abs(ay - by)) for (ax, ay), (bx, by) in pairwise(wire.points)]


def faults(drawing: Drawing) -> list[str]:
    return list(_faults(drawing))


def _faults(drawing: Drawing) -> Iterator[str]:
    frame = Box(0, 0, drawing.width, drawing.height)
    boxes = [outline.box for outline in drawing.outlines if outline.kind != "board"]
    labels = [(f"“{label.text}”", label.box) for label in drawing.labels]
    flags = [(f"flag {flag.number}", flag.box) for flag in drawing.flags]
    flags += [("a mark of a change", mark.box) for mark in drawing.change_marks]
    symbols = [(symbol.name, symbol.box) for symbol in drawing.symbols]
    wires = [(nth, piece) for nth, wire in enumerate(drawing.wires) for piece in pieces(wire)]
    for name, box in (*labels, *flags, *symbols, *(("a box", box) for box in boxes)):
        if not contains(frame, box):
            yield f"{name} lies outside the frame"
    for one, other in combinations(boxes, 2):
        if overlap(one, other):
            yield f"two boxes overlap at {one.x:.0f}, {one.y:.0f}"
    for (name, box), (other, other_box) in combinations((*labels, *flags, *symbols), 2):
        if overlap(box, other_box):
            yield f"{name} and {other} overlap"
    for name, box in (*labels, *flags):
        if any(overlap(box, piece, slack=0) for _, piece in wires):
            yield f"{name} lies on a wire"
    for _, piece in wires:
        if any(overlap(piece, box, slack=0.05) for box in boxes):
            yield f"a wire runs through a box at {piece.x:.0f}, {piece.y:.0f}"
    for (nth, one), (other_nth, other) in combinations(wires, 2):
        if nth != other_nth and _lie_on_each_other(one, other):
            yield f"two wires lie on each other at {one.x:.0f}, {one.y:.0f}"


def _lie_on_each_other(one: Box, other: Box) -> bool:
    level = one.height == other.height == 0 and abs(one.y - other.y) < 0.3
    upright = one.width == other.width == 0 and abs(one.x - other.x) < 0.3
    along_x = min(one.right, other.right) - max(one.x, other.x) > 0.1
    along_y = min(one.bottom, other.bottom) - max(one.y, other.y) > 0.1
    return (level and along_x) or (upright and along_y)
