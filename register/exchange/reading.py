"""A workbook, checked whole and brought into the register or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db import models

from register.exchange.cells import Cell, CellProblem, paths_of, to_cell, to_facts
from register.exchange.guarding import NotAWorkbook, open_workbook
from register.exchange.sheets import READ_ME, SHEETS, WORDS, Column, Sheet
from register.models import User
from register.services import importing
from register.services.importing import CannotImport, Counts
from register.services.permissions import May, require

SHEET_OF = {sheet.table: sheet for sheet in SHEETS}


@dataclass(frozen=True)
class WorkbookProblem:
    """Where it stands (as far as it has a place), what was found there, what is wrong and how to put it right."""

    message: str
    sheet: str = ""
    row: int | None = None
    column: str = ""
    found: str = ""

    def __str__(self) -> str:
        place = ", ".join(
            part for part in (self.sheet and f"sheet {self.sheet}", self.row and f"row {self.row}", self.column) if part
        )
        found = f" “{self.found}”:" if self.found else ""
        return f"{place}:{found} {self.message}" if place else self.message


class WorkbookRefused(Exception):
    """Nothing was imported. Carries every problem that was found."""

    def __init__(self, problems: list[WorkbookProblem]):
        self.problems = problems
        found = "One problem was" if len(problems) == 1 else f"{len(problems)} problems were"
        super().__init__(f"{found} found. Nothing was imported.")


@dataclass(frozen=True)
class Report:
    """What an import did: counts by sheet, and the sheets and columns that are not the register's."""

    counts: dict[str, Counts]
    not_read: list[str]

    @property
    def changed_nothing(self) -> bool:
        return not any(counts.added or counts.changed for counts in self.counts.values())


@dataclass(frozen=True)
class Origin:
    """What people call the places of rows that did not come from the register's own workbook: their sheet, and the
    heading of the column that a fact stands in, where one does."""

    sheet: str
    headings: dict[tuple[type[models.Model], str], str]


@dataclass
class Reading:
    """What stands in a workbook, and what cannot be read in it."""

    sheets: dict[type[models.Model], importing.Sheet] = field(default_factory=dict)
    problems: list[WorkbookProblem] = field(default_factory=list)
    unread: set[type[models.Model]] = field(default_factory=set)
    not_read: list[str] = field(default_factory=list)
    origin: Origin | None = None


def import_workbook(data: bytes, *, by: User, name: str, at: datetime | None = None) -> Report:
    """Bring a workbook in, in one transaction. Raises NotAllowed, or WorkbookRefused with every problem."""
    require(by, May.IMPORT)
    reading = read_workbook(data)
    if reading.problems:
        raise WorkbookRefused(with_places(reading, importing.problems_of(reading.sheets, reading.unread)))
    return import_reading(reading, by=by, name=name, at=at)


def import_reading(reading: Reading, *, by: User, name: str, at: datetime | None = None) -> Report:
    """Bring in what was read without a problem. Raises as :func:`import_workbook`."""
    try:
        done = importing.import_register(reading.sheets, by=by, reason=f"Imported {name}"[:300], at=at)
    except CannotImport as refused:
        raise WorkbookRefused(with_places(reading, refused.problems)) from refused
    return Report({SHEET_OF[table].name: count for table, count in done.counts.items()}, reading.not_read)


def with_places(reading: Reading, problems: list[importing.Problem]) -> list[WorkbookProblem]:
    """All problems, in the order of the sheets and their rows."""
    asked = {(problem.model, problem.row) for problem in problems}
    rows = {
        (table, row.number): row.facts
        for table, sheet in reading.sheets.items()
        for row in sheet.rows
        if (table, row.number) in asked
    }
    order = {sheet.name: position for position, sheet in enumerate(SHEETS)}
    placed = (_placed(problem, rows.get((problem.model, problem.row), {}), reading.origin) for problem in problems)
    return sorted([*reading.problems, *placed], key=lambda problem: (order.get(problem.sheet, -1), problem.row or 0))


def _placed(problem: importing.Problem, facts: dict[str, Any], origin: Origin | None) -> WorkbookProblem:
    if problem.model is None:
        return WorkbookProblem(problem.message)
    sheet = SHEET_OF[problem.model]
    name = origin.sheet if origin else sheet.name
    column = sheet.by_path.get(problem.path)
    if column is None:
        return WorkbookProblem(problem.message, name, problem.row)
    cell = to_cell(column, sheet, facts)
    heading = origin.headings.get((problem.model, problem.path), "") if origin else column.heading
    return WorkbookProblem(problem.message, name, problem.row, heading, "" if cell is None else shown(cell))


def read_workbook(data: bytes) -> Reading:
    """Every row of every sheet as facts, and every problem that can be seen in the workbook alone."""
    reading = Reading()
    try:
        workbook = open_workbook(data, [sheet.name for sheet in SHEETS])
    except NotAWorkbook as refusal:
        reading.problems.append(WorkbookProblem(str(refusal)))
        return reading
    names = {name.strip().casefold(): name for name in workbook.sheet_names}
    known = {sheet.name.casefold() for sheet in SHEETS} | {READ_ME.casefold(), WORDS.casefold()}
    reading.not_read += [f"sheet {name}" for key, name in names.items() if key not in known]
    for sheet in SHEETS:
        if sheet.name.casefold() not in names:
            reading.unread.add(sheet.table)
            reading.problems.append(
                WorkbookProblem(
                    "The sheet is missing. Add it with its headings, as in the blank workbook; it may have no rows.",
                    sheet.name,
                )
            )
            continue
        _read_sheet(reading, sheet, _rows(workbook.get_sheet_by_name(names[sheet.name.casefold()])))
    return reading


def _rows(sheet) -> Iterator[tuple[int, list[Cell]]]:
    """Rows by the number that a spreadsheet program shows."""
    before = [""] * (sheet.start[1] if sheet.start else 0)
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        yield number, before + cells


def _read_sheet(reading: Reading, sheet: Sheet, rows: Iterator[tuple[int, list[Cell]]]) -> None:
    _, headings = next(rows, (1, []))
    places = _places(reading, sheet, headings)
    missing = [column for column in sheet.columns if column.path not in places]
    for column in missing:
        reading.problems.append(
            WorkbookProblem(
                "The column is missing. Add it, as in the blank workbook; its cells may be empty.",
                sheet.name,
                1,
                column.heading,
            )
        )
    if any(column.path in importing.TABLES[sheet.table].key for column in missing):
        reading.unread.add(sheet.table)
    paths = tuple(path for column in sheet.columns for path in paths_of(column))
    made = importing.PackedRows(sheet.table, paths)
    cells_read = [(place, _reader(sheet.by_path[path], sheet)) for path, place in places.items()]
    for number, cells in rows:
        if all(isinstance(cell, str) and not cell.strip() for cell in cells):
            continue
        facts: dict[str, Any] = {}
        for place, read in cells_read:
            try:
                facts.update(read(cells[place]))
            except CellProblem as problem:
                heading = sheet.by_heading[" ".join(str(headings[place]).split()).casefold()].heading
                found = shown(cells[place])
                reading.problems.append(WorkbookProblem(str(problem), sheet.name, number, heading, found))
        made.append(importing.Row(number, facts))
    reading.sheets[sheet.table] = importing.Sheet(paths, made)


MOST_REMEMBERED = 1000
"""Different texts of a column of which what they state is kept: most columns repeat a few."""


def _reader(column: Column, sheet: Sheet) -> Callable[[Cell], dict[str, Any]]:
    """Reads the cells of a column, each different text once. The function returned raises CellProblem."""
    known: dict[str, dict[str, Any]] = {}

    def read(cell: Cell) -> dict[str, Any]:
        if type(cell) is not str:
            return to_facts(column, sheet, cell)
        if (facts := known.get(cell)) is None:
            facts = to_facts(column, sheet, cell)
            if len(known) < MOST_REMEMBERED:
                known[cell] = facts
        return facts

    return read


def _places(reading: Reading, sheet: Sheet, headings: list[Cell]) -> dict[str, int]:
    """Where each known column stands."""
    places: dict[str, int] = {}
    for place, heading in enumerate(headings):
        text = " ".join(str(heading).split())
        column: Column | None = sheet.by_heading.get(text.casefold())
        if column is None:
            if text:
                reading.not_read.append(f"column {text} of sheet {sheet.name}")
        elif column.path in places:
            reading.problems.append(
                WorkbookProblem("The column stands here twice. Remove one of the two.", sheet.name, 1, column.heading)
            )
        else:
            places[column.path] = place
    return places


def shown(cell: Cell) -> str:
    """A cell as its sheet shows it, shortened."""
    if isinstance(cell, float):
        return f"{cell:.15g}"
    text = cell.isoformat() if isinstance(cell, date) else str(cell)
    return text if len(text) <= 60 else f"{text[:59]}…"
