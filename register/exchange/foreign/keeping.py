"""From a file that somebody sends to its index, by way of what is kept between two looks at it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from register import models
from register.calc.tag_patterns import USUAL
from register.exchange.foreign.files import IndexFile, open_index
from register.exchange.foreign.guessing import Guess, guess_mapping
from register.exchange.foreign.headings import Headings, as_text, find_headings, headings_at
from register.exchange.foreign.indexes import Index, Mapping
from register.exchange.foreign.spelling import folded
from register.exchange.foreign.standing import what_stands
from register.exchange.foreign.targets import known_heading
from register.models import PlantSettings, User
from register.services import indexes

SHEETS_LOOKED_AT = 20


def to_json(mapping: Mapping) -> dict[str, Any]:
    return vars(mapping) | {"edits": [[row, place, text] for (row, place), text in mapping.edits.items()]}


def from_json(kept: dict[str, Any]) -> Mapping:
    columns = {int(place): key for place, key in kept["columns"].items()}
    return Mapping(**kept | {"columns": columns, "edits": {(row, place): text for row, place, text in kept["edits"]}})


def patterns_of_plant() -> str:
    return PlantSettings.objects.values_list("tag_patterns", flat=True).first() or USUAL


@dataclass
class Opened:
    """A kept file, opened as it is to be read."""

    kept: models.IndexFile

    @cached_property
    def file(self) -> IndexFile:
        return IndexFile(bytes(self.kept.data), self.kept.encoding, self.kept.separator, measured=True)

    @cached_property
    def mapping(self) -> Mapping:
        return from_json(self.kept.mapping)

    @cached_property
    def headings(self) -> Headings:
        mapping, sheet = self.mapping, self.kept.sheet
        return headings_at(self.file.lines(sheet), mapping.heading_row, mapping.heading_rows, self.file.merged(sheet))

    @cached_property
    def guesses(self) -> list[Guess]:
        return guess_mapping(self.file.lines(self.kept.sheet), self.headings, self.mapping.patterns)[1]

    def index(self, rows: int | None = None) -> Index:
        """The index, or only its lines up to a number."""
        return Index(lambda: self.file.lines(self.kept.sheet), self.headings, self.mapping, what_stands(), rows)


def begin(data: bytes, *, name: str, by: User) -> models.IndexFile:
    """Keep a file, with the sheet, headings and columns that it seems to have. Raises CannotOpen, NotAllowed."""
    file = open_index(data)
    sheet, headings = _sheet_of(file)
    file.check(sheet)
    mapping, mapping_name = _mapping_of(file, sheet, headings)
    return indexes.keep_file(
        name=name,
        data=data,
        by=by,
        sheet=sheet,
        encoding=file.encoding,
        separator=file.separator,
        mapping=to_json(mapping),
        mapping_name=mapping_name,
    )


def send_again(kept: models.IndexFile, data: bytes, *, name: str, by: User) -> None:
    """Put another file in the place of one, to be read in the same way; edits give way to it. Raises CannotOpen.

    Where its headings are others, it is read as if it were new.
    """
    file = open_index(data)
    opened = Opened(kept)
    sheet = kept.sheet if kept.sheet in file.sheet_names else _sheet_of(file)[0]
    file.check(sheet)
    found = find_headings(file.lines(sheet), file.merged(sheet))
    mapping, mapping_name = opened.mapping, kept.mapping_name
    mapping.edits = {}
    if found.texts == opened.headings.texts:
        mapping.heading_row, mapping.heading_rows = found.row, found.rows
    elif headings_at(file.lines(sheet), mapping.heading_row, mapping.heading_rows).texts != opened.headings.texts:
        mapping, mapping_name = _mapping_of(file, sheet, found)
    indexes.read_otherwise(
        kept, by=by, name=name[:200], data=data, sheet=sheet, encoding=file.encoding, separator=file.separator,
        mapping=to_json(mapping), mapping_name=mapping_name,
    )  # fmt: skip


def look_anew(
    kept: models.IndexFile, *, by: User, heading_row: int | None = None, heading_rows: int = 1, **reads
) -> None:
    """Read another sheet, in another encoding or below another row of headings: its columns are guessed anew."""
    encoding, separator = reads.get("encoding", kept.encoding), reads.get("separator", kept.separator)
    file = IndexFile(bytes(kept.data), encoding, separator, measured=True)
    sheet = reads.get("sheet", kept.sheet)
    file.check(sheet)
    lines, merged = file.lines(sheet), file.merged(sheet)
    headings = headings_at(lines, heading_row, heading_rows, merged) if heading_row else find_headings(lines, merged)
    mapping, mapping_name = _mapping_of(file, sheet, headings)
    indexes.read_otherwise(kept, by=by, mapping=to_json(mapping), mapping_name=mapping_name, **reads)


def choose(
    opened: Opened,
    *,
    by: User,
    columns: dict[int, str],
    patterns: str,
    area: str,
    answers: dict[str, dict[str, str]],
    cells: dict[tuple[int, int], str],
) -> None:
    """Keep what somebody chose, answered and, of the cells that they saw, typed in the place of what stands there."""
    seen = {row for row, _place in cells}
    stand = {row: there for row, there in opened.file.lines(opened.kept.sheet) if row in seen} if cells else {}
    edits = {place: text for place, text in opened.mapping.edits.items() if place not in cells}
    for (row, place), text in cells.items():
        there = stand.get(row, [])
        if text.strip() != (as_text(there[place]) if place < len(there) else ""):
            edits[row, place] = text.strip()
    mapping = Mapping(opened.headings.row, opened.headings.rows, columns, patterns, area, answers, edits)
    indexes.read_otherwise(opened.kept, by=by, mapping=to_json(mapping))


def keep_mapping(name: str, opened: Opened, *, by: User) -> None:
    """Keep how a file is read under a name, for the next one with the same headings."""
    mapping, headings = opened.mapping, opened.headings.texts
    columns = {folded(headings[place]): key for place, key in mapping.columns.items() if place < len(headings)}
    indexes.save_mapping(
        name, by=by, columns=columns, patterns=mapping.patterns, area=mapping.area, answers=mapping.answers
    )
    indexes.read_otherwise(opened.kept, by=by, mapping_name=name)


def _sheet_of(file: IndexFile) -> tuple[str, Headings]:
    """The sheet most of whose headings are those of an index, the first of equals, and its headings."""
    found = [
        (sheet, find_headings(file.lines(sheet), file.merged(sheet)))
        for sheet in file.sheet_names[:SHEETS_LOOKED_AT] or [""]
    ]
    return max(found, key=lambda one: len({known[0] for text in one[1].texts if (known := known_heading(text))}))


def _mapping_of(file: IndexFile, sheet: str, headings: Headings) -> tuple[Mapping, str]:
    """The mapping kept for most of these headings, with its name, else a guess without one."""
    guess, _ = guess_mapping(file.lines(sheet), headings, patterns_of_plant())
    texts = [folded(text) for text in headings.texts]
    fitting = [one for one in models.IndexMapping.objects.all() if one.columns and one.columns.keys() <= set(texts)]
    if not fitting:
        return guess, ""
    kept = max(fitting, key=lambda one: len(one.columns))  # the newest of equals
    columns = {place: kept.columns[text] for place, text in enumerate(texts) if text in kept.columns}
    return Mapping(headings.row, headings.rows, columns, kept.patterns, kept.area, kept.answers), kept.name
