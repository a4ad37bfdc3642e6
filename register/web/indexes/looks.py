"""What the page of an index shows: its columns with the reason of each guess, some of its rows as they are read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from register.exchange.foreign.guessing import texts_below
from register.exchange.foreign.headings import as_text
from register.exchange.foreign.indexes import REST, Entry, Question
from register.exchange.foreign.keeping import Opened
from register.exchange.foreign.targets import shown, targets
from register.web.indexes.forms import MOST_ASKED

FIRST, WRONG = 6, 14
"""Rows that are shown: the first, and the first with each text that cannot be read."""
AT_ONCE = 20_000
"""Lines that are read while somebody waits for the page; the dry run reads all."""
TOP_ROWS, TOP_COLUMNS, TEXTS = 12, 12, 3


@dataclass(frozen=True)
class LookedColumn:
    heading: str
    texts: str
    why: str


@dataclass(frozen=True)
class LookedCell:
    """A cell of a row: the name of its input, what stands in it, what that is read as or why it is not."""

    name: str
    heading: str
    text: str
    edited: bool
    reads: str
    problem: str


@dataclass(frozen=True)
class LookedRow:
    entry: Entry
    cells: list[LookedCell]


class Look:
    """An index read through once: its first lines, or all of it."""

    def __init__(self, opened: Opened, *, whole: bool = False):
        self.opened = opened
        self.index = opened.index(None if whole else AT_ONCE)
        self.rows = self.known = 0
        self.shown: list[LookedRow] = []
        wrong: set[tuple[str, str]] = set()
        loops = set()
        for entry in self.index.entries():
            self.rows += 1
            self.known += entry.known is not None
            loops.add(entry.loop)
            problems = {(key, entry.texts[key]) for key in entry.problems}
            if self.rows <= FIRST or (problems - wrong and len(self.shown) < FIRST + WRONG):
                self.shown.append(LookedRow(entry, list(self._cells(entry))))
                wrong |= problems
        self.loops = len(loops)
        self.open = self.index.questions()

    def _cells(self, entry: Entry) -> Iterator[LookedCell]:
        for place, target in self.index.columns.items():
            key = target.key
            yield LookedCell(
                f"cell-{entry.row}-{place}",
                self.opened.headings.texts[place] or str(target.label),
                entry.texts[key],
                (entry.row, place) in self.opened.mapping.edits,
                "" if key in entry.problems else entry.tag if key == "tag" else shown(entry.values.get(key)),
                entry.problems.get(key, ""),
            )

    @property
    def fit(self) -> int:
        """How many tags fit a pattern."""
        return self.index.fitting[True]

    @cached_property
    def headings(self) -> list[tuple[str, str]]:
        """Of each column that is read: its heading, and what it is."""
        return [
            (self.opened.headings.texts[place] or str(target.label), str(target.label))
            for place, target in self.index.columns.items()
        ]

    @cached_property
    def questions(self) -> list[Question]:
        """What is open, then what may be said of all the rest, then what was answered; each target's together."""
        keys = list(dict.fromkeys(one.key for one in self.open))
        answered = self.opened.mapping.answers
        used = {target.key for target in self.index.columns.values()}
        found: list[Question] = []
        for key in dict.fromkeys([*keys, *answered]):
            of_key = [one for one in self.open if one.key == key]
            if key not in used and not of_key and key in targets():
                continue
            found += of_key
            if len(of_key) > 1 or REST in answered.get(key, {}):
                found.append(Question(key, REST))
            found += [Question(key, text) for text in answered.get(key, {}) if text != REST]
        return found[:MOST_ASKED]

    @cached_property
    def columns(self) -> list[LookedColumn]:
        mapping, headings = self.opened.mapping, self.opened.headings
        texts = texts_below(self.index.lines(), headings)
        found = []
        for place, heading in enumerate(headings.texts):
            guess = self.opened.guesses[place]
            chosen = mapping.columns.get(place, "")
            why = _("chosen") if guess.key != chosen else _("guessed: %(why)s") % {"why": guess.why}
            if guess.key != chosen and self.opened.kept.mapping_name:
                why = _("chosen, or as in the mapping")
            found.append(LookedColumn(heading, " · ".join(text[:40] for text in texts[place][:TEXTS]), why))
        return found

    @cached_property
    def top(self) -> list[tuple[int, list[str]]]:
        """The first rows as they stand, to find the headings in."""
        return [
            (number, [as_text(cell)[:40] for cell in cells[:TOP_COLUMNS]])
            for number, cells in islice(self.index.lines(), TOP_ROWS)
        ]

    @cached_property
    def hindrances(self) -> list[str]:
        """Why the index cannot be tried yet."""
        keys = {target.key for target in self.index.columns.values()}
        found = []
        if "tag" not in keys and not {"letters", "number"} <= keys:
            found.append(_("No column is the tag. Choose one."))
        elif not self.rows:
            found.append(_("No row names a tag. Choose the row of the headings, and the column of the tags."))
        if self.open:
            count = len(self.open)
            found.append(
                ngettext("%(count)d question is open.", "%(count)d questions are open.", count) % {"count": count}
            )
        if self.index.without_area:
            count = self.index.without_area
            found.append(
                ngettext(
                    "%(count)d row names no area. Choose one for it.",
                    "%(count)d rows name no area. Choose one for them.",
                    count,
                )
                % {"count": count}
            )
        return found
