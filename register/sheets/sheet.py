"""The loop sheet: everything that a stranger needs to maintain a loop, from the loop value to PDF."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

from django.utils.safestring import SafeString, mark_safe

from register.plant import codec
from register.plant.cautions import cautions_for
from register.plant.diff import changes
from register.plant.values import Loop
from register.rules.engine import Rule, Verdict, all_rules
from register.sheets.checks import checks_of
from register.sheets.diagram import draw
from register.sheets.diagram.flags import Numbered, numbered
from register.sheets.diagram.shapes import Drawing, Outline
from register.sheets.diagram.svg import LinkFor, mark, svg
from register.sheets.diagram.wording import hazard_lines
from register.sheets.pdf import File, html_to_pdf, printed_html
from register.sheets.qr import qr_data_uri
from register.sheets.tables import (
    Rows,
    alarm_table,
    board_table,
    cable_table,
    compared,
    core_table,
    settings_of,
    tag_table,
)


@dataclass(frozen=True)
class Paper:
    """A sheet in landscape: its name in CSS, the room between its margins in mm, and how its text is set.

    ``diagram_width`` is in the diagram's units: one is a point on A4, and more on larger paper.
    """

    size: str
    width_mm: float
    height_mm: float
    text_pt: float
    diagram_width: float

    @property
    def diagram_scale(self) -> float:
        """Points a unit of the diagram."""
        return self.width_mm * _POINTS_PER_MM / self.diagram_width


_POINTS_PER_MM = 72 / 25.4
_SVG = "http://www.w3.org/2000/svg"
MARGIN_MM, FOOT_MM = 10, 13
ATTACHED = "loop.json"
"""The file inside a sheet: the loop's canonical JSON."""

PAPERS = {
    "A4": Paper("A4 landscape", 277, 187, 7.2, 785),
    "A3": Paper("A3 landscape", 400, 274, 8.8, 920),
    "Letter": Paper("letter landscape", 259.4, 192.9, 7.2, 735),
    "Tabloid": Paper("ledger", 411.8, 256.4, 8.8, 940),
}
# Heights of what stands above the diagram, in the size of the text (sheet.css sets them).
_TITLE_BLOCK_EM, _CAUTIONS_EM, _CAUTION_EM, _AS_ON_EM, _MARKS_EM = 9.6, 1.6, 1.3, 2.8, 1.8
_SERVICE_CHARACTERS, _AREA_CHARACTERS = 45, 55  # that surely fit on a line of the title block


@dataclass(frozen=True)
class RevisionNote:
    """What the revision block says."""

    number: int
    at: datetime
    by: str
    reason: str


@dataclass(frozen=True)
class ConcessionNote:
    """The permission to live with a finding."""

    by: str
    until: date
    reason: str
    reference: str = ""


@dataclass(frozen=True)
class IssueNote:
    """The issue that the sheet is or, where ``is_this`` is not so, the last one before the loop was changed.

    Number 0: the loop's sheet was never issued. ``before`` is the loop as issue ``since`` shows it (0: no such issue):
    what differs from it is marked.
    """

    number: int = 0
    revision: int = 0
    at: datetime | None = None
    drafted_by: str = ""
    checked_by: str = ""
    approved_by: str = ""
    exception: str = ""
    is_this: bool = False
    since: int = 0
    before: Loop | None = None

    @property
    def outdated(self) -> bool:
        return bool(self.number) and not self.is_this


def render_sheet(
    loop: Loop,
    verdicts: Iterable[Verdict] = (),
    *,
    revision: RevisionNote | None = None,
    plant_name: str = "",
    paper: str = "A4",
    live_url: str = "",
    as_on: date | None = None,
    concessions: Mapping[tuple[str, str, str], ConcessionNote] | None = None,
    link_for: LinkFor | None = None,
    issue: IssueNote | None = None,
) -> bytes:
    """The sheet as PDF/A-3 with the loop's canonical JSON inside; equal arguments give equal bytes.

    ``as_on`` marks a sheet that shows what stood on a day. ``concessions`` are found by a verdict's identity, and
    ``link_for`` gives the absolute address of another loop by its number. ``issue`` says under which issue the sheet
    is given out, or marks it as not issued.
    """
    html = sheet_html(
        loop,
        verdicts,
        revision=revision,
        plant_name=plant_name,
        paper=paper,
        live_url=live_url,
        as_on=as_on,
        concessions=concessions or {},
        link_for=link_for,
        issue=issue,
    )
    at = revision.at.astimezone(UTC) if revision else datetime(1970, 1, 1, tzinfo=UTC)
    return html_to_pdf(html, [File(ATTACHED, codec.encode(loop), f"The loop {loop.number} as canonical JSON", at)])


def sheet_html(
    loop: Loop,
    verdicts: Iterable[Verdict],
    *,
    revision: RevisionNote | None,
    plant_name: str,
    paper: str,
    live_url: str,
    as_on: date | None,
    concessions: Mapping[tuple[str, str, str], ConcessionNote],
    link_for: LinkFor | None,
    issue: IssueNote | None,
) -> str:
    page = PAPERS[paper]
    flags = numbered(verdicts)
    before = issue.before if issue else None
    differ = changes(before, loop) if before else ()
    title = {name: cell for name, (cell,) in compared(_title_facts, loop, before)}
    checks = checks_of(loop)
    cautions = cautions_for(loop)
    where = loop.area if loop.area.startswith(plant_name) else f"{plant_name} · {loop.area}"
    above_em = (
        _title_block_em(loop.service, where)
        + (_CAUTIONS_EM + len(cautions) * _CAUTION_EM if cautions else 0)
        + _AS_ON_EM * (bool(as_on) + (issue is not None and issue.outdated))
        + (_MARKS_EM if differ else 0)
    )
    height = page.height_mm * _POINTS_PER_MM
    drawings = draw(
        loop,
        [flag.verdict for flag in flags],
        changes=differ,
        width=page.diagram_width,
        first_height=(height - above_em * page.text_pt) / page.diagram_scale,
        later_height=(height - page.text_pt) / page.diagram_scale,
    )
    return printed_html(
        "sheets/sheet.html",
        {
            "loop": loop,
            "paper": page,
            "margin_mm": MARGIN_MM,
            "foot_mm": FOOT_MM,
            "plant_name": plant_name,
            "where": where,
            "revision": revision,
            "as_on": as_on,
            "issue": issue,
            "live_url": live_url,
            "qr": qr_data_uri(live_url),
            "cautions": cautions,
            "drawings": [_placed(drawing, link_for) for drawing in drawings],
            "findings": [_finding_row(flag, concessions.get(flag.verdict.identity)) for flag in flags],
            "service": title.pop("service"),
            "area": title.pop("area"),
            "facts": title,
            "tags": tag_table(loop, before, with_hazard=cautions.hazardous),
            "settings": list(settings_of(loop, before)),
            "boards": board_table(loop, before),
            "alarms": alarm_table(loop, before),
            "checks": [checks[nth : nth + 2] for nth in range(0, len(checks), 2)],
            "cores": core_table(loop, before),
            "cables": cable_table(loop, before),
            "changes": differ,
        },
    )


def _title_block_em(service: str, where: str) -> float:
    """Height of the title block: more where service or area need more lines than it has."""
    lines = max(0, len(service) // _SERVICE_CHARACTERS - 1) + max(0, len(where) // _AREA_CHARACTERS)
    return _TITLE_BLOCK_EM + lines * 1.5


def _title_facts(loop: Loop) -> Rows:
    """What the title block says of the loop."""
    zones = {tag.zone: next(hazard_lines(tag)) for tag in loop.tags if tag.zone}
    yield "service", (loop.service,)
    yield "area", (loop.area,)
    yield "Kind", (str(loop.kind),)
    yield "Criticality", (str(loop.criticality),)
    yield "Range", (str(loop.range or ""),)
    yield "Area class", (", ".join(zones.values()) or "no zone recorded",)
    if loop.safety:
        months = loop.safety.proof_test_interval_months or "(not recorded)"
        sil = loop.safety.target_sil or "(not recorded)"
        yield "Safety", (f"SIL {sil}, proof test every {months} months",)
    else:
        yield "Danger lies", (str(loop.danger or ""),)


@dataclass(frozen=True)
class _Placed:
    """A drawing and, for its references to other loops, the places of links in per cent of it."""

    svg: SafeString
    links: list[tuple[str, str, str]]


def _placed(drawing: Drawing, link_for: LinkFor | None) -> _Placed:
    links = []
    for outline in drawing.outlines:
        address = link_for(outline.leads_to) if link_for and outline.leads_to else None
        if address:
            links.append((address, outline.leads_to, _style(outline, drawing)))
    told = replace(
        drawing, title=f"{drawing.title}. {drawing.description}"
    )  # a PDF has its title for all that it shows
    return _Placed(mark_safe(svg(told)), links)


def _style(outline: Outline, drawing: Drawing) -> str:
    box = outline.box
    return (
        f"left: {100 * box.x / drawing.width:.3f}%; top: {100 * box.y / drawing.height:.3f}%; "
        f"width: {100 * box.width / drawing.width:.3f}%; height: {100 * box.height / drawing.height:.3f}%"
    )


@dataclass(frozen=True)
class _FindingRow:
    number: int
    verdict: Verdict
    rule: Rule | None
    mark: SafeString
    concession: ConcessionNote | None


def _finding_row(flag: Numbered, concession: ConcessionNote | None) -> _FindingRow:
    verdict = flag.verdict
    shape = mark(verdict.severity, verdict.finding.unknown)
    words = "cannot tell" if verdict.finding.unknown else verdict.severity
    drawn = f'<svg xmlns="{_SVG}" width="9" height="9" viewBox="0 0 9 9"><title>{words}</title>{shape}</svg>'
    return _FindingRow(flag.number, verdict, all_rules().get(verdict.rule), mark_safe(drawn), concession)
