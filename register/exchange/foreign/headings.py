"""Where the headings of an index stand, and what each column is called, one or two rows of headings joined."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import islice

from register.exchange.cells import Cell
from register.exchange.foreign.files import Line
from register.exchange.foreign.spelling import folded
from register.exchange.foreign.targets import known_heading

LOOKED_THROUGH = 40
"""In so many rows from the top the headings are looked for."""

Merged = Sequence[tuple[tuple[int, int], tuple[int, int]]]


@dataclass(frozen=True)
class Headings:
    """The row of the headings, how many rows they take (1 or 2), and the text of each column, "" where none is; the
    texts of each row by itself."""

    row: int
    rows: int
    texts: tuple[str, ...]
    by_row: tuple[tuple[str, ...], ...] = ()

    def are_repeated_in(self, texts: dict[int, str]) -> bool:
        """Whether cells, by column, say no more than a heading of theirs does, as on the next page of a print."""
        known = self._folded
        return any(texts.values()) and all(not text or folded(text) in known[place] for place, text in texts.items())

    @cached_property
    def _folded(self) -> list[set[str]]:
        rows = (self.texts, *self.by_row)
        return [{folded(row[place]) for row in rows if place < len(row)} for place in range(len(self.texts))]


def find_headings(lines: Iterable[Line], merged: Merged = ()) -> Headings:
    """The row most of whose cells are words that indexes use as headings, and the rest of which are words as well.

    Where no cell is such a word, it is the row with the most words in it, the first of equals.
    """
    top = list(islice(lines, LOOKED_THROUGH))
    row = max(top, key=lambda line: _likeness(line[1]), default=(1, []))[0]
    return headings_at(top, *_with_its_other_row(dict(top), row), merged)


def headings_at(lines: Iterable[Line], row: int, rows: int, merged: Merged = ()) -> Headings:
    """The headings that begin in a row and take one or two.

    >>> headings_at([(1, ["Tag", "Range", ""]), (2, ["", "from", "to"])], 1, 2).texts
    ('Tag', 'Range from', 'Range to')
    """
    found = {number: [as_text(cell) for cell in cells] for number, cells in lines if row <= number < row + rows}
    upper = found.get(row, [])
    if rows == 1:
        return Headings(row, 1, tuple(upper))
    lower = found.get(row + 1, [])
    by_row = tuple(upper), tuple(lower)
    width = max(len(upper), len(lower))
    upper, lower = (part + [""] * (width - len(part)) for part in (upper, lower))
    across = [(first, last) for (first_row, first), (_, last) in merged if first_row == row - 1 and last > first]
    for first, last in across:
        upper[first : last + 1] = [upper[first]] * len(upper[first : last + 1])
    for place in range(1, width):
        if not across and not upper[place] and lower[place]:
            upper[place] = upper[place - 1]
    return Headings(row, 2, tuple(" ".join(filter(None, pair)) for pair in zip(upper, lower, strict=True)), by_row)


def as_text(cell: Cell) -> str:
    """A cell as people would have typed it, on one line.

    >>> as_text(4.0), as_text(0.1), as_text(" TIC\\n101 "), as_text(True)
    ('4', '0.1', 'TIC 101', 'yes')
    """
    if isinstance(cell, str):
        return " ".join(cell.split())
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return f"{cell:.15g}"
    if isinstance(cell, date):
        return cell.isoformat()
    return " ".join(str(cell).split())


def _likeness(cells: list[Cell]) -> tuple[int, int]:
    texts = [text for cell in cells if (text := as_text(cell))]
    if not texts or any(_is_number(cell) for cell in cells):
        return (0, 0)
    return (sum(1 for text in texts if known_heading(text)), len({folded(text) for text in texts}))


def _is_number(cell: Cell) -> bool:
    return isinstance(cell, float | date) or as_text(cell).replace(".", "", 1).replace(",", "", 1).isdigit()


def _with_its_other_row(top: dict[int, list[Cell]], row: int) -> tuple[int, int]:
    """First row and number of rows of headings of which the row holds most.

    The row below goes on with them where it leaves the first column free and fills one that is blank above; the row
    above begins them where it leaves the first column free and stands over headings alone.
    """
    here = _words(top.get(row, []))
    below, above = _words(top.get(row + 1, [])), _words(top.get(row - 1, []))
    first = min(here, default=0)
    if below and min(below) > first and below - here:
        return row, 2
    if above and min(above) > first and above <= here:
        return row - 1, 2
    return row, 1


def _words(cells: list[Cell]) -> set[int]:
    """Which cells are filled; none where one holds a number."""
    filled = {place for place, cell in enumerate(cells) if as_text(cell)}
    return set() if any(_is_number(cells[place]) for place in filled) else filled
