"""The tables of a loop sheet: rows of plain text, and which of it differs from the last issue."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from register.plant.keying import keying_order, signal_label
from register.plant.values import Bay, Link, Loop, Tag
from register.sheets.diagram.wording import (
    BOUND,
    FAILS,
    fail_position,
    fuse_label,
    hazard_lines,
    number,
    supply_label,
    value_with_unit,
)

Rows = Iterator[tuple[str, tuple[str, ...]]]
"""What a row is known by from one issue to the next, and its cells; a cell that is empty was not recorded."""


@dataclass(frozen=True)
class Cell:
    text: str
    changed: bool


@dataclass(frozen=True)
class Table:
    """Headings with the widths of their columns in per cent, and rows; the first cell of a row is its heading."""

    headings: tuple[tuple[str, int], ...]
    rows: tuple[tuple[Cell, ...], ...]


def table(
    headings: tuple[tuple[str, int], ...], rows: Callable[[Loop], Rows], loop: Loop, before: Loop | None
) -> Table:
    """A table of the loop. Where ``before`` is given, what it says otherwise is marked."""
    return Table(headings, tuple(cells for _, cells in compared(rows, loop, before)))


def compared(rows: Callable[[Loop], Rows], loop: Loop, before: Loop | None) -> Iterator[tuple[str, tuple[Cell, ...]]]:
    old = dict(rows(before)) if before else None
    for key, texts in rows(loop):
        if old is None:
            marks = (False,) * len(texts)
        elif key not in old:
            marks = (True, *(False,) * (len(texts) - 1))  # a row that is new bears one mark
        else:
            marks = tuple(one != other for one, other in zip(texts, old[key], strict=True))
        yield key, tuple(map(Cell, texts, marks))


def tag_table(loop: Loop, before: Loop | None, *, with_hazard: bool) -> Table:
    headings = _TAGS_IN_ZONE if with_hazard else _TAGS

    def rows(loop: Loop) -> Rows:
        for tag in loop.tags:
            hazard = ("; ".join(hazard_lines(tag)),) if with_hazard else ()
            yield tag.name, (*_tag_cells(tag), *hazard, _calibration(tag))

    return table(headings, rows, loop, before)


_TAGS = (
    ("Tag", 9),
    ("Role", 8),
    ("What it does", 14),
    ("Location, place", 17),
    ("Model", 14),
    ("Asset, serial number", 12),
    ("Supply, fuse", 9),
    ("On failure", 8),
    ("Last calibration", 9),
)
_TAGS_IN_ZONE = (
    ("Tag", 8),
    ("Role", 7),
    ("What it does", 12),
    ("Location, place", 13),
    ("Model", 12),
    ("Asset, serial number", 11),
    ("Supply, fuse", 8),
    ("On failure", 8),
    ("Hazardous area", 13),
    ("Last calibration", 8),
)


def _tag_cells(tag: Tag) -> tuple[str, ...]:
    fails = fail_position(tag)
    if tag.asset:
        model, item = str(tag.asset.model), f"{tag.asset.code}, {tag.asset.serial or 'serial not recorded'}"
    else:
        model, item = f"{tag.specified} (specified)" if tag.specified else "", "nothing installed"
    return (
        tag.name,
        str(tag.role),
        tag.description,
        f"{tag.location or 'location not recorded'}, {tag.place or 'place not recorded'}",
        model,
        item,
        _supply_and_fuse(tag),
        FAILS[fails] if fails else str(tag.fault_direction or ""),
    )


def _supply_and_fuse(tag: Tag) -> str:
    supply = supply_label(tag) if tag.supply_v is not None or tag.supply_kind else ""
    return ", ".join(filter(None, (supply, fuse_label(tag) if tag.fuse else "")))


def _calibration(tag: Tag) -> str:
    return f"{tag.calibration.on:%Y-%m-%d}, {tag.calibration.result}" if tag.calibration else ""


def settings_of(loop: Loop, before: Loop | None) -> Iterator[tuple[str, list[list[tuple[Cell, ...]]]]]:
    """Each instrument that is configured, and its settings as they are keyed in, in columns of equal length."""
    for tag in loop.tags:
        if tag.settings is not None or (tag.model is not None and tag.model.bays):

            def rows(of: Loop, name: str = tag.name) -> Rows:
                own = of.tag(name)
                for label, value in keying_order(own.settings) if own and own.settings else ():
                    yield label, (label, value)

            # A setting is named by its label: the mark stands with its value.
            cells = [
                (Cell(label.text, False), Cell(value.text, label.changed or value.changed))
                for _, (label, value) in compared(rows, loop, before)
            ]
            yield tag.name, in_columns(cells, SETTING_COLUMNS)


SETTING_COLUMNS = 4


def in_columns(things: list, count: int) -> list[list]:
    """So many lists, one after the other, as equal in length as can be.

    >>> in_columns([1, 2, 3, 4, 5], 2)
    [[1, 2, 3], [4, 5]]
    """
    tall = -(-len(things) // count) or 1
    return [things[start : start + tall] for start in range(0, len(things), tall)]


def board_table(loop: Loop, before: Loop | None) -> Table:
    return table(_BOARDS, _board_rows, loop, before)


_BOARDS = (
    ("Controller", 11),
    ("Bay", 6),
    ("Board", 24),
    ("Family", 17),
    ("Serial number", 13),
    ("The bay takes", 29),
)


def _board_rows(loop: Loop) -> Rows:
    for tag in loop.tags:
        fitted = {board.bay: board for board in tag.asset.boards} if tag.asset else {}
        bays = {bay.name: bay for bay in tag.model.bays} if tag.model else {}
        for name in dict.fromkeys([*bays, *fitted]):
            board, takes = fitted.get(name), ", ".join(bays.get(name, Bay(name=name)).takes)
            facts = (str(board.model), board.model.family or "—", board.serial) if board else ("empty", "—", "—")
            yield f"{tag.name} {name}", (tag.name, name, *facts, takes)


def alarm_table(loop: Loop, before: Loop | None) -> Table:
    return table(_ALARMS, _alarm_rows, loop, before)


_ALARMS = (
    ("Tag", 9),
    ("Alarm", 9),
    ("Kind", 10),
    ("Set point", 11),
    ("Dead band", 9),
    ("Priority", 7),
    ("Output", 9),
    ("Coil", 9),
    ("Also", 9),
    ("What to do", 18),
)


def _alarm_rows(loop: Loop) -> Rows:
    for tag in loop.tags:
        for alarm in tag.alarms:
            delay = f"delay {number(alarm.delay_s)}{BOUND}s" if alarm.delay_s is not None else ""
            extras = ("trip" if alarm.trip else "", "latching" if alarm.latching else "", delay)
            yield (
                f"{tag.name} {alarm.name}",
                (
                    tag.name,
                    alarm.name,
                    str(alarm.kind),
                    value_with_unit(alarm.set_point, tag.range) if alarm.set_point is not None else "",
                    value_with_unit(alarm.deadband, tag.range) if alarm.deadband is not None else "",
                    alarm.priority,
                    alarm.output or "none",
                    str(alarm.coil or ""),
                    ", ".join(filter(None, extras)) or "—",
                    alarm.action,
                ),
            )


def core_table(loop: Loop, before: Loop | None) -> Table:
    return table(_CORES, _core_rows, loop, before)


_CORES = (
    ("From", 15),
    ("To", 15),
    ("Signal", 9),
    ("Cable", 11),
    ("Core", 6),
    ("Colour", 10),
    ("Polarity", 10),
    ("From terminal", 12),
    ("To terminal", 12),
)


def _core_rows(loop: Loop) -> Rows:
    for link in loop.links:
        ends = _ends(loop, link)
        if not link.cores:
            yield link.label, (*ends, "wiring not recorded", *("—",) * 5)
        for nth, core in enumerate(link.cores):
            yield (
                f"{link.label} {core.cable.name} {core.core} {nth}",
                (
                    *(ends if nth == 0 else (BOUND,) * len(ends)),  # said once
                    core.cable.name,
                    core.core,
                    core.colour,
                    core.polarity.replace("-", "−"),
                    f"{core.from_place or 'place not recorded'}: {core.from_terminal or 'not recorded'}",
                    f"{core.to_place or 'place not recorded'}: {core.to_terminal or 'not recorded'}",
                ),
            )


def _ends(loop: Loop, link: Link) -> tuple[str, str, str]:
    source = loop.tag(link.source_tag)
    port = source.port(link.source_port) if source else None
    shunt = f"across it {number(link.shunt_ohm)}{BOUND}Ω" if link.shunt_ohm is not None else ""
    target = "\n".join(filter(None, (f"{link.target_tag} {link.target_port}", shunt, link.note)))
    return f"{link.source_tag} {link.source_port}", target, signal_label(port.signal) if port else ""


def cable_table(loop: Loop, before: Loop | None) -> Table:
    return table(_CABLES, _cable_rows, loop, before)


_CABLES = (("Cable", 16), ("Use", 16), ("Conductors", 14), ("Size", 18), ("Length", 10), ("Screen", 26))


def _cable_rows(loop: Loop) -> Rows:
    for cable in {cable.name: cable for link in loop.links for cable in link.cables}.values():
        size = [f"{cable.cores} cores" if cable.cores else ""]
        size.append(f"{number(cable.csa_mm2)}{BOUND}mm²" if cable.csa_mm2 else "")
        screen = {True: "screened", False: "no screen", None: ""}[cable.screened]
        if cable.screen_earthed_at:
            screen = f"{screen or 'screen'}, earthed at {', '.join(cable.screen_earthed_at)}"
        length = f"{number(cable.length_m)}{BOUND}m" if cable.length_m is not None else ""
        yield (
            cable.name,
            (cable.name, str(cable.use), cable.designation, " × ".join(filter(None, size)), length, screen),
        )
