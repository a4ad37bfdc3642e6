"""A drawing as SVG: presentation attributes alone, so that screen, paper and a strict content policy agree."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from xml.sax.saxutils import escape, quoteattr

from register.plant.words import FailPosition, Location, Severity
from register.sheets.diagram.measures import HEADING, POINT
from register.sheets.diagram.shapes import (
    Box,
    Bubble,
    ChangeMark,
    Drawing,
    Earth,
    Flag,
    Label,
    Outline,
    Shown,
    Symbol,
    Wire,
)
from register.sheets.diagram.text import FAMILY, plain, runs_right_to_left, visual

INK, QUIET, LIGHT = "#1a1a1a", "#555555", "#9a9a9a"
SEVERITY_COLOUR = {Severity.ERROR: "#b00020", Severity.WARNING: "#8a5200", Severity.ADVICE: "#1f5a99"}
_DASHES = {"screen": "4 2", "unrecorded": "1 2.2"}

LinkFor = Callable[[str], str | None]
AddressOf = Callable[[Shown], str | None]


def svg(drawing: Drawing, link_for: LinkFor | None = None, address_of: AddressOf | None = None) -> str:
    """The drawing as an SVG element.

    ``link_for`` gives the address of another loop by its number, ``address_of`` that of a part of this one.
    """
    return "".join(_svg(drawing, link_for, address_of))


def _svg(drawing: Drawing, link_for: LinkFor | None, address_of: AddressOf | None) -> Iterator[str]:
    width, height = _n(drawing.width), _n(drawing.height)
    linked = address_of or (link_for and any(outline.leads_to for outline in drawing.outlines))
    role = "group" if linked else "img"  # what is an image holds nothing that can be followed
    title = drawing.title + (f", sheet {drawing.number} of {drawing.of}" if drawing.of > 1 else "")
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'role="{role}" font-family="{FAMILY}" fill="{INK}"><title>{_text(title)}</title>'
        f"<desc>{_text(drawing.description)}</desc>"
    )
    sides = f'width="{_n(drawing.width - 0.8)}" height="{_n(drawing.height - 0.8)}"'
    yield f'<rect x="0.4" y="0.4" {sides} {_line(0.8, fill="#ffffff")}/>'
    yield f'<path d="M0 {_n(HEADING)}H{width}" {_line(0.5)}/>'
    yield from (f'<path d="M0 {_n(y)}H{_n(length)}" {_line(0.5, LIGHT)}/>' for y, length in drawing.rules)
    for divider in drawing.dividers:
        dashes = ' stroke-dasharray="7 2 1.5 2"' if divider.is_boundary else ' stroke-dasharray="2 3"'
        colour, thick = (INK, 1.2) if divider.is_boundary else (LIGHT, 0.5)
        yield (f'<path d="M{_n(divider.x)} {_n(divider.top)}V{_n(divider.bottom)}" {_line(thick, colour)}{dashes}/>')
    yield from map(_outline, drawing.outlines)
    for wire in drawing.wires:
        yield _wire(wire)
    yield from (
        f'<circle cx="{_n(one.x)}" cy="{_n(one.y)}" r="1.5" fill="#ffffff" stroke="{INK}" stroke-width="0.7"/>'
        for one in drawing.terminals
    )
    yield from map(_earth, drawing.earths)
    yield from map(_bubble, drawing.bubbles)
    yield from map(_symbol, drawing.symbols)
    yield from map(_label, drawing.labels)
    yield from map(_flag, drawing.flags)
    yield from map(_change_mark, drawing.change_marks)
    for outline in drawing.outlines:
        if link_for and outline.leads_to and (address := link_for(outline.leads_to)):
            yield _link(outline, address)
    if address_of:
        yield from _panes(drawing, address_of)
    yield "</svg>"


def _panes(drawing: Drawing, address_of: AddressOf) -> Iterator[str]:
    """Panes over what can be opened, those of the smallest things on top."""
    panes: dict[Shown, list[str]] = {}
    for outline in sorted(drawing.outlines, key=lambda one: one.kind == "board"):
        if outline.shows:
            panes.setdefault(outline.shows, []).append(_pane(outline.box))
    for wire in drawing.wires:
        if wire.shows:
            points = "L".join(f"{_n(x)} {_n(y)}" for x, y in wire.points)
            path = f'<path d="M{points}" fill="none" stroke="#ffffff" stroke-opacity="0" stroke-width="8"/>'
            panes.setdefault(wire.shows, []).append(path)
    for flag in drawing.flags:
        panes.setdefault(flag.shows, []).append(_pane(flag.box))
    for shown, shapes in panes.items():
        if address := address_of(shown):
            name = quoteattr(plain(_NAMES[shown.kind].format(tag=shown.tag, place=shown.place)))
            yield f'<a href={quoteattr(address)} aria-label={name} data-opens-beside="">{"".join(shapes)}</a>'


_NAMES = {
    "tag": "{tag}",
    "board": "Board in bay {place} of {tag}",
    "link": "Link to {tag} {place}",
    "finding": "Finding {place}",
}


def _pane(box: Box) -> str:
    sides = f'width="{_n(box.width)}" height="{_n(box.height)}"'
    return f'<rect x="{_n(box.x)}" y="{_n(box.y)}" {sides} fill="#ffffff" fill-opacity="0"/>'


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _text(text: str) -> str:
    return escape(plain(text))


def _line(thick: float, colour: str = INK, fill: str = "none") -> str:
    return f'fill="{fill}" stroke="{colour}" stroke-width="{_n(thick)}"'


def _outline(outline: Outline) -> str:
    box = outline.box
    if outline.kind == "other loop":
        return f'<path d="{_pointed(box)}" {_line(0.8, fill="#ffffff")}/>'
    thick, colour, fill = {
        "device": (0.7, INK, "none"),
        "strip": (0.7, INK, "#f4f4f4"),
        "board": (0.5, QUIET, "none"),
    }[outline.kind]
    return (
        f'<rect x="{_n(box.x)}" y="{_n(box.y)}" width="{_n(box.width)}" height="{_n(box.height)}" '
        f"{_line(thick, colour, fill)}/>"
    )


def _pointed(box: Box) -> str:
    point = box.right - POINT
    return (
        f"M{_n(box.x)} {_n(box.y)}H{_n(point)}L{_n(box.right)} {_n(box.y + box.height / 2)}"
        f"L{_n(point)} {_n(box.bottom)}H{_n(box.x)}Z"
    )


def _link(outline: Outline, address: str) -> str:
    """A pane over a reference to another loop, above its text, which would take the click."""
    name = quoteattr(f"Loop {plain(outline.leads_to)}")
    pane = f'<path d="{_pointed(outline.box)}" fill="#ffffff" fill-opacity="0"/>'
    return f"<a href={quoteattr(address)} aria-label={name}>{pane}</a>"


def _wire(wire: Wire) -> str:
    points = "L".join(f"{_n(x)} {_n(y)}" for x, y in wire.points)
    dashes = f' stroke-dasharray="{_DASHES[wire.kind]}"' if wire.kind in _DASHES else ""
    return f'<path d="M{points}" {_line(0.8)}{dashes}/>'


def _earth(earth: Earth) -> str:
    x, y = earth.x, earth.y
    bars = "".join(f"M{_n(x - half)} {_n(y + down)}H{_n(x + half)}" for half, down in ((3.2, 3), (2.1, 4.5), (1, 6)))
    return f'<path d="M{_n(x)} {_n(y)}V{_n(y + 3)}{bars}" {_line(0.8)}/>'


def _bubble(bubble: Bubble) -> str:
    x, y, radius = bubble.x, bubble.y, bubble.radius
    circle = f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" {_line(0.9, fill="#ffffff")}/>'
    across = f'd="M{_n(x - radius)} {_n(y)}H{_n(x + radius)}"'
    if bubble.location == Location.PANEL:
        return f"{circle}<path {across} {_line(0.8)}/>"
    if bubble.location == Location.RACK:
        return f'{circle}<path {across} {_line(0.8)} stroke-dasharray="3 2"/>'
    return circle


def _label(label: Label) -> str:
    facts = [f'x="{_n(label.x)}"', f'y="{_n(label.y)}"', f'font-size="{_n(label.size)}"']
    if label.anchor != "start":
        facts.append(f'text-anchor="{label.anchor}"')
    if label.bold:
        facts.append('font-weight="bold"')
    if label.quiet:
        facts.append(f'fill="{QUIET}"')
    if runs_right_to_left(label.text):
        facts.append('direction="ltr" unicode-bidi="bidi-override"')
    return f"<text {' '.join(facts)}>{escape(visual(label.text))}</text>"


def _flag(flag: Flag) -> str:
    box = flag.box
    size = 6.5 if flag.number < 100 else 4.6
    colour = mark_colour(flag.severity, flag.unknown)
    return (
        f'<g transform="translate({_n(box.x)} {_n(box.y)})">{mark(flag.severity, flag.unknown)}'
        f'<text x="9.5" y="6.9" font-size="{_n(size)}" font-weight="bold" fill="{colour}">{flag.number}</text></g>'
    )


def _change_mark(one: ChangeMark) -> str:
    """A delta, as drawings mark a revision, white on black: no severity looks like it."""
    box = one.box
    return (
        f'<g transform="translate({_n(box.x)} {_n(box.y)})"><rect width="11" height="9" rx="1.5" fill="{INK}"/>'
        f'<path d="M5.5 1.6L8.9 7.4H2.1Z" {_line(0.9, "#ffffff")}/></g>'
    )


def mark_colour(severity: Severity, unknown: bool) -> str:
    return QUIET if unknown else SEVERITY_COLOUR[severity]


def mark(severity: Severity, unknown: bool) -> str:
    """The shape of a severity in a field of 9 by 9; it says as much as its colour does."""
    colour = mark_colour(severity, unknown)
    if unknown:
        return f'<path d="M1.2 1.2H7.8V7.8H1.2Z" {_line(0.9, colour, "#ffffff")} stroke-dasharray="1.6 1"/>'
    match severity:
        case Severity.ERROR:
            return f'<path d="M4.5 0.2L8.8 4.5L4.5 8.8L0.2 4.5Z" fill="{colour}"/>'
        case Severity.WARNING:
            return f'<path d="M4.5 0.6L8.8 8.4H0.2Z" fill="{colour}"/>'
    return f'<circle cx="4.5" cy="4.5" r="3.6" {_line(1.1, colour, "#ffffff")}/>'


# Symbols, drawn in a field of 28 by 20

_VALVE = "M5 19L5 11L23 19L23 11ZM14 15V7"
_SHAPES = {
    "thermocouple": "M2 6H12L20 10L12 14H2M20 10A1 1 0 1 0 20.1 10",
    "resistance thermometer": "M2 10H6L7.5 6L10.5 14L13.5 6L16.5 14L19.5 6L21 10H25",
    "sensor": "M14 3A7 7 0 1 0 14.1 3M9 10H19M14 5V15",
    "converter": "M5 2H23V18H5ZM5 18L23 2",
    "power supply": "M5 2H23V18H5ZM8 7H20M8 12H11M12.5 12H15.5M17 12H20",
    "valve": f"{_VALVE}M8 7A6 5 0 0 1 20 7Z",
    "solenoid valve": f"{_VALVE}M9 1H19V7H9Z",
    "final element": "M4 3H24V17H4ZM10 6L18 10L10 14Z",
    "motor": "M14 1A9 9 0 1 0 14.1 1M10 14V6L14 11L18 6V14",
    "heater": "M3 6H25V14H3ZM8 6V14M13 6V14M18 6V14",
    "contactor": "M4 4H12V16H4ZM8 1V4M8 16V19M18 1V6L22 14M18 14V19",
    "lamp": "M14 2A8 8 0 1 0 14.1 2M8.3 4.3L19.7 15.7M19.7 4.3L8.3 15.7",
}
_FAIL_ARROWS = {
    FailPosition.CLOSED: "M12 9.5L14 12.5L16 9.5",
    FailPosition.OPEN: "M12 11.5L14 8.5L16 11.5",
    FailPosition.STAYS: "M11.5 9H16.5M11.5 11H16.5",
}


def _symbol(symbol: Symbol) -> str:
    shape = _SHAPES[symbol.name]
    if symbol.fails and symbol.name in ("valve", "solenoid valve"):
        shape += _FAIL_ARROWS[symbol.fails]
    return f'<path transform="translate({_n(symbol.box.x)} {_n(symbol.box.y)})" d="{shape}" {_line(0.9)}/>'
