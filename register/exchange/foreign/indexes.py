"""An index read through a mapping: what each row says, what must be asked, and what was passed over."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from register.calc.identity import TagName
from register.calc.tag_patterns import loop_of, read_patterns, read_tag
from register.calc.units import ParsedUnit
from register.exchange.cells import Cell, CellProblem
from register.exchange.foreign import spelling
from register.exchange.foreign.files import Line
from register.exchange.foreign.headings import Headings, as_text
from register.exchange.foreign.spelling import folded
from register.exchange.foreign.standing import KnownTag, Standing, squeezed
from register.exchange.foreign.targets import Hand, Target, targets
from register.plant.tag_letters import role_of
from register.plant.words import Role

LETTERS = "letters of"
"""Stands for a target where the letters of a tag do not say its role; the answer is a role."""
LEAVE_OUT = "—"
"""An answer: a cell that counts as empty; of a tag or its letters, rows that are not taken."""
REST = "*"
"""Stands for every text of a target that cannot be read and has no answer of its own."""
MOST_PASSED_OVER = 500

_TOTAL = re.compile(
    r"(?:(?:grand|sub)[- ]?)?total(?:s|isation)?\b|sum(?:me)?\b|count\b|anzahl\b|somme\b", re.IGNORECASE
)


@dataclass
class Mapping:
    """How an index is read: where its headings stand, what each column is, how tags are written, the area of rows that
    name none, and what people answered and edited. Columns are counted from 0, rows as a spreadsheet shows them."""

    heading_row: int = 1
    heading_rows: int = 1
    columns: dict[int, str] = field(default_factory=dict)
    patterns: str = ""
    area: str = ""
    answers: dict[str, dict[str, str]] = field(default_factory=dict)
    edits: dict[tuple[int, int], str] = field(default_factory=dict)

    def answer(self, key: str, text: str) -> str:
        """What was answered for a text of a target; "" where nothing was."""
        return self.answers.get(key, {}).get(text, "")


@dataclass(frozen=True)
class Question:
    """A text that cannot be read: of which target, in how many rows, and why not."""

    key: str
    text: str
    rows: int = 0
    why: str = ""

    @property
    def words(self) -> tuple[str, ...]:
        """The closed list that the answer is taken from, if there is one."""
        if self.key == LETTERS:
            return tuple(Role)
        return () if self.text == REST else targets()[self.key].words

    @property
    def about(self) -> str:
        return _("Role, by the letters of the tag") if self.key == LETTERS else str(targets()[self.key].label)


@dataclass(frozen=True)
class PassedOver:
    """A row that is not taken, what stands in it and why."""

    row: int
    text: str
    why: str


@dataclass
class Entry:
    """One row that names a tag: its texts, values and problems by target, and what follows from them."""

    row: int
    texts: dict[str, str] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)
    problems: dict[str, str] = field(default_factory=dict)
    parts: TagName | None = None
    tag: str = ""
    loop: str = ""
    area: str = ""
    role: Role | None = None
    known: KnownTag | None = None


class Index:
    """The rows of an index below its headings, read through a mapping beside what the register holds.

    Each different text of a column is read once. What is asked, passed over and left without an area is known when
    :meth:`entries` has run to its end. With ``rows``, only the lines up to that number are read. Raises BadPattern for
    a mapping whose patterns cannot be used.
    """

    def __init__(
        self,
        lines: Callable[[], Iterator[Line]],
        headings: Headings,
        mapping: Mapping,
        standing: Standing,
        rows: int | None = None,
    ):
        self.lines = lines
        self.only_rows = rows
        self.is_cut = False
        self.headings = headings
        self.mapping = mapping
        self.standing = standing
        self.patterns = read_patterns(mapping.patterns)
        self.columns: dict[int, Target] = {
            place: targets()[key]
            for place, key in sorted(mapping.columns.items())
            if key in targets() and place < len(headings.texts)
        }
        self.units: dict[str, ParsedUnit | None] = {
            target.key: spelling.unit_in_heading(headings.texts[place]) for place, target in self.columns.items()
        }
        self.new_areas: dict[str, str] = {}
        self.passed_over: list[PassedOver] = []
        self.fitting: Counter[bool] = Counter()
        self.asked: Counter[tuple[str, str]] = Counter()
        self.without_area = 0
        self._read = self._read_texts()

    # Cells

    def _rows(self) -> Iterator[tuple[int, list[Cell], dict[int, str]]]:
        """Every row that says something: its number, its cells and the text of each mapped one, with edits in place."""
        below = self.headings.row + self.headings.rows
        for number, cells in self.lines():
            if self.only_rows and number > self.only_rows:
                self.is_cut = True
                return
            if number < below or not any(map(as_text, cells)):
                continue
            yield (
                number,
                cells,
                {
                    place: self.mapping.edits.get((number, place), as_text(cells[place]) if place < len(cells) else "")
                    for place in self.columns
                },
            )

    def _read_texts(self) -> dict[int, dict[str, Any]]:
        """Of each column, what each different text is read as, or its CellProblem."""
        found: dict[int, dict[str, Any]] = {place: {} for place in self.columns}
        for _number, _cells, texts in self._rows():
            for place, text in texts.items():
                if text:
                    found[place][text] = None
        decimal = spelling.decimal_sign(
            text for place, texts in found.items() if self.columns[place].is_number for text in texts
        )
        for place, texts in found.items():
            target = self.columns[place]
            hand = Hand(decimal, spelling.day_first(texts), self.units[target.key])
            for text in texts:
                texts[text] = self._value(target, text, hand)
        return found

    def _value(self, target: Target, text: str, hand: Hand) -> Any:
        own = self.mapping.answer(target.key, text)
        if own == LEAVE_OUT:
            return None
        try:
            return target.read(own or text, hand)
        except CellProblem as problem:
            if self.mapping.answer(target.key, REST) == LEAVE_OUT:
                return None
            return problem

    # Rows

    def entries(self) -> Iterator[Entry]:
        """Every row that names a tag."""
        self.passed_over.clear()
        self.fitting.clear()
        self.asked.clear()
        self.without_area = 0
        for number, cells, texts in self._rows():
            if self.headings.are_repeated_in(texts):
                self._pass_over(number, cells, _("the headings again"))
                continue
            entry = self._entry(number, texts)
            if why := self._name(entry, alone=sum(1 for cell in cells if as_text(cell)) == 1) or self._place(entry):
                self._pass_over(number, cells, why)
                continue
            for key in entry.problems:
                self.asked[key, entry.texts[key]] += 1
            yield entry

    def _pass_over(self, number: int, cells: list[Cell], why: str) -> None:
        if len(self.passed_over) < MOST_PASSED_OVER:
            text = ", ".join(text for cell in cells if (text := as_text(cell)))
            self.passed_over.append(PassedOver(number, text[:120], why))

    def _entry(self, number: int, texts: dict[int, str]) -> Entry:
        entry = Entry(number)
        for place, text in texts.items():
            key = self.columns[place].key
            value = self._read[place].get(text)
            entry.texts[key] = text
            if isinstance(value, CellProblem):
                entry.problems[key] = str(value)
            else:
                entry.values[key] = value
        return entry

    def _name(self, entry: Entry, *, alone: bool) -> str:
        """Give the entry its tag and loop; says why where its row names none."""
        typed = entry.values.get("tag") or self._joined(entry)
        if not typed:
            total = any(_TOTAL.match(text) for text in entry.texts.values())
            return _("left out") if entry.texts.get("tag") else _("a total") if total else _("no tag")
        read = read_tag(typed, self.patterns)
        if read is None and _TOTAL.match(typed):
            return _("a total")
        like_a_tag = read is not None and role_of(read[0].letters) is not None and typed == typed.upper()
        if alone and len(self.columns) > 1 and not like_a_tag:
            return _("a line between the rows")
        self.fitting[read is not None] += 1
        entry.parts, entry.tag = (read[0], read[1].write(read[0])) if read else (None, typed)
        entry.known = self.standing.tags.get(squeezed(entry.tag))
        if entry.known:
            entry.tag = entry.known.name
        inferred = entry.known.loop if entry.known else loop_of(*read) if read else entry.tag
        entry.loop = self.standing.loop_named(entry.values.get("loop") or inferred)
        return ""

    def _joined(self, entry: Entry) -> str:
        """A tag whose parts stand in columns of their own."""
        parts = [entry.values.get(part) or "" for part in ("area", "letters", "number", "suffix")]
        return self.patterns[0].write(TagName(*parts)) if parts[1] and parts[2] and self.patterns else ""

    def _place(self, entry: Entry) -> str:
        """Give the entry its role and area; says why where it was answered that it is left out."""
        stated = entry.values.get("role") or (entry.known.role if entry.known else None)
        if stated is None and "role" not in entry.problems:
            letters = entry.parts.letters if entry.parts else entry.tag
            stated = self.mapping.answer(LETTERS, letters) or role_of(letters)
            stated = stated or self.mapping.answer(LETTERS, REST)
            if stated == LEAVE_OUT:
                return _("left out")
            if not stated:
                self.asked[LETTERS, letters] += 1
        entry.role = Role(stated) if stated else None
        entry.area = (
            self._area(entry.values.get("area"))
            or self.standing.loop_areas.get(entry.loop)
            or self._area(entry.parts and entry.parts.prefix)
            or self._area(self.mapping.area)
        )
        if not entry.area:
            self.without_area += 1
        return ""

    def _area(self, text: str | None) -> str:
        """The code of an area by its code or name; one that the register does not hold yet gets a code."""
        if not text:
            return ""
        if known := self.standing.areas.get(folded(text)):
            return known
        code = text if len(text) <= 20 else "".join(word[0] for word in text.split())[:20].upper()
        self.new_areas[code] = text[:80]
        return code

    def questions(self) -> list[Question]:
        """What must be answered, each text once, the commonest first."""
        found = []
        for (key, text), rows in self.asked.most_common():
            if key == LETTERS:
                why = _("The letters do not say what it does in its loop. What is its role?")
            else:
                place = next(place for place, target in self.columns.items() if target.key == key)
                why = str(self._read[place][text])
            found.append(Question(key, text, rows, why))
        return found
