"""What an import would do, in the words of the sheets: each change old → new, each problem at its place, findings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import astuple, dataclass

from register.exchange.cells import paths_of, to_cell
from register.exchange.keeping import keep_lines, name_of
from register.exchange.reading import SHEET_OF, Origin, Reading, shown, with_places
from register.models import Finding, ImportRun
from register.models.imports import PartHolds
from register.services.import_plan import Change, Plan
from register.services.packing import unpack

ON_A_PAGE = 100
"""Lines, problems or findings that a page shows and a part keeps."""


@dataclass(frozen=True)
class Line:
    """One row that an import adds or changes: where it stands, what it names, and of a changed one each fact."""

    sheet: str
    row: int
    name: str
    new: bool
    facts: list[tuple[str, str, str]]


@dataclass(frozen=True)
class FoundLine:
    """A finding that an import makes appear or clears."""

    loop: str
    rule: str
    severity: str
    unknown: bool
    subject: str
    text: str
    appears: bool


@dataclass(frozen=True)
class ProblemLine:
    sheet: str
    row: int | None
    column: str
    found: str
    message: str


OF_PART = {PartHolds.LINES: Line, PartHolds.FINDINGS: FoundLine, PartHolds.PROBLEMS: ProblemLine}


def line_of(change: Change, origin: Origin | None) -> Line:
    sheet = SHEET_OF[change.model]
    facts = []
    for column in sheet.columns:
        if set(paths_of(column)).isdisjoint(change.differing):
            continue
        old, new = (to_cell(column, sheet, held) for held in (change.standing, change.standing | change.row.facts))
        heading = origin.headings.get((change.model, column.path)) if origin else None
        facts.append((heading or column.heading, *("" if cell is None else shown(cell) for cell in (old, new))))
    name = " ".join(str(part) for part in change.key if part not in (None, "")) or sheet.name
    return Line(sheet.name, change.row.number, name, change.pk is None, facts)


def examine(run: ImportRun, reading: Reading) -> Iterator[tuple[int, int]]:
    """Keep what the import would do with its run, which the caller saves; yields how far it is."""
    plan = Plan(reading.sheets, reading.unread)
    problems = with_places(reading, plan.problems())
    told = ([one.sheet, one.row, one.column, one.found, one.message] for one in problems)
    run.problems = keep_lines(run, PartHolds.PROBLEMS, told, ON_A_PAGE)
    yield 1, 3
    lines = (line_of(change, reading.origin) for change in plan.changes())
    keep_lines(run, PartHolds.LINES, map(astuple, lines), ON_A_PAGE)
    run.counts = {name_of(model): [one.added, one.changed, one.unchanged] for model, one in plan.counts.items()}
    run.fingerprint = plan.fingerprint
    yield 2, 3


def keep_findings(run: ImportRun, appear: list[Finding], clear: list[Finding]) -> None:
    """Keep with the run, which the caller saves, what comes and goes."""
    run.appear, run.clear = len(appear), len(clear)
    found = [(one, True) for one in appear] + [(one, False) for one in clear]
    told = (
        [one.loop.number, one.rule, one.severity, one.unknown, one.subject, one.text, appears] for one, appears in found
    )
    keep_lines(run, PartHolds.FINDINGS, told, ON_A_PAGE)


def page_of(run: ImportRun, holds: PartHolds, place: int) -> list:
    """Lines of a page, which are counted from 0."""
    part = run.parts.filter(holds=holds, place=place).first()
    return [OF_PART[holds](*line) for line in unpack(bytes(part.packed))] if part else []
