"""The loop sheet: everything that a stranger needs to maintain a loop, from the loop value to PDF."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime

from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe

from register.plant import codec
from register.plant.cautions import cautions_for
from register.plant.keying import keying_order, signal_label
from register.plant.values import Alarm, Bay, Cable, Core, FittedBoard, Link, Loop, Tag
from register.rules.engine import Rule, Verdict, all_rules
from register.sheets.checks import checks_of
from register.sheets.diagram import draw
from register.sheets.diagram.flags import Numbered, numbered
from register.sheets.diagram.shapes import Drawing, Outline
from register.sheets.diagram.svg import LinkFor, mark, svg
from register.sheets.diagram.wording import FAILS, fail_position, hazard_lines, number, value_with_unit
from register.sheets.pdf import File, html_to_pdf
from register.sheets.qr import qr_data_uri


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
_TITLE_BLOCK_EM, _CAUTIONS_EM, _CAUTION_EM, _AS_ON_EM = 9.6, 1.6, 1.3, 2.8
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

    Number 0: the loop's sheet was never issued. ``changes`` says what differs from issue ``since`` (0: no such issue).
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
    changes: tuple[str, ...] = ()

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
    cautions = cautions_for(loop)
    where = loop.area if loop.area.startswith(plant_name) else f"{plant_name} · {loop.area}"
    above_em = (
        _title_block_em(loop.service, where)
        + (_CAUTIONS_EM + len(cautions) * _CAUTION_EM if cautions else 0)
        + _AS_ON_EM * (bool(as_on) + (issue is not None and issue.outdated))
    )
    height = page.height_mm * _POINTS_PER_MM
    drawings = draw(
        loop,
        [flag.verdict for flag in flags],
        width=page.diagram_width,
        first_height=(height - above_em * page.text_pt) / page.diagram_scale,
        later_height=(height - page.text_pt) / page.diagram_scale,
    )
    return render_to_string(
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
            "zones": _zones(loop),
            "cautions": cautions,
            "drawings": [_placed(drawing, link_for) for drawing in drawings],
            "findings": [_finding_row(flag, concessions.get(flag.verdict.identity)) for flag in flags],
            "tags": [_tag_row(tag) for tag in loop.tags],
            "settings": [
                (tag, list(keying_order(tag.settings)) if tag.settings else []) for tag in loop.tags if _is_set(tag)
            ],
            "boards": list(_board_rows(loop)),
            "alarms": [_alarm_row(tag, alarm) for tag in loop.tags for alarm in tag.alarms],
            "checks": checks_of(loop),
            "cores": list(_core_rows(loop)),
            "cables": list({cable.name: _cable_row(cable) for link in loop.links for cable in link.cables}.values()),
        },
    )


def _title_block_em(service: str, where: str) -> float:
    """Height of the title block: more where service or area need more lines than it has."""
    lines = max(0, len(service) // _SERVICE_CHARACTERS - 1) + max(0, len(where) // _AREA_CHARACTERS)
    return _TITLE_BLOCK_EM + lines * 1.5


def _zones(loop: Loop) -> str:
    zones = {tag.zone: next(hazard_lines(tag)) for tag in loop.tags if tag.zone}
    return ", ".join(zones.values())


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
    return _Placed(mark_safe(svg(drawing)), links)


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


@dataclass(frozen=True)
class _TagRow:
    tag: Tag
    fails: str
    supply: str
    hazard: str


def _tag_row(tag: Tag) -> _TagRow:
    fails = fail_position(tag)
    volts = f"{number(tag.supply_v)} V" if tag.supply_v is not None else ""
    return _TagRow(
        tag,
        FAILS[fails] if fails else str(tag.fault_direction or ""),
        " ".join(filter(None, (volts, tag.supply_kind or ""))) + (f", fuse {tag.fuse}" if tag.fuse else ""),
        "; ".join(hazard_lines(tag)),
    )


def _is_set(tag: Tag) -> bool:
    return tag.settings is not None or (tag.model is not None and bool(tag.model.bays))


@dataclass(frozen=True)
class _BoardRow:
    tag: Tag
    bay: str
    board: FittedBoard | None
    takes: tuple[str, ...]


def _board_rows(loop: Loop) -> Iterator[_BoardRow]:
    for tag in loop.tags:
        fitted = {board.bay: board for board in tag.asset.boards} if tag.asset else {}
        bays = {bay.name: bay for bay in tag.model.bays} if tag.model else {}
        for name in dict.fromkeys([*bays, *fitted]):
            yield _BoardRow(tag, name, fitted.get(name), bays.get(name, Bay(name=name)).takes)


@dataclass(frozen=True)
class _AlarmRow:
    tag: Tag
    alarm: Alarm
    set_point: str
    deadband: str
    extras: str


def _alarm_row(tag: Tag, alarm: Alarm) -> _AlarmRow:
    delay = f"delay {number(alarm.delay_s)} s" if alarm.delay_s is not None else ""
    extras = ("trip" if alarm.trip else "", "latching" if alarm.latching else "", delay)
    return _AlarmRow(
        tag,
        alarm,
        value_with_unit(alarm.set_point, tag.range) if alarm.set_point is not None else "",
        value_with_unit(alarm.deadband, tag.range) if alarm.deadband is not None else "",
        ", ".join(filter(None, extras)),
    )


@dataclass(frozen=True)
class _CoreRow:
    link: Link
    signal: str
    core: Core | None
    polarity: str
    is_first: bool  # of its link


def _core_rows(loop: Loop) -> Iterator[_CoreRow]:
    for link in loop.links:
        source = loop.tag(link.source_tag)
        port = source.port(link.source_port) if source else None
        for nth, core in enumerate(link.cores or (None,)):
            polarity = core.polarity.replace("-", "−") if core else ""
            yield _CoreRow(link, signal_label(port.signal) if port else "", core, polarity, nth == 0)


@dataclass(frozen=True)
class _CableRow:
    cable: Cable
    size: str
    length: str
    screen: str


def _cable_row(cable: Cable) -> _CableRow:
    size = [f"{cable.cores} cores" if cable.cores else "", f"{number(cable.csa_mm2)} mm²" if cable.csa_mm2 else ""]
    screen = {True: "screened", False: "no screen", None: ""}[cable.screened]
    if cable.screen_earthed_at:
        screen = f"{screen or 'screen'}, earthed at {', '.join(cable.screen_earthed_at)}"
    return _CableRow(
        cable,
        " × ".join(filter(None, size)),
        f"{number(cable.length_m)} m" if cable.length_m is not None else "",
        screen,
    )
