"""What opens beside the diagram: a tag, the board in a bay, a link or a finding, and what to do there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse

from register.models import Finding, Link
from register.models import Loop as LoopRow
from register.plant.values import Bay, Connection, FittedBoard, Loop, Port, Tag
from register.rules.engine import Rule, all_rules
from register.sheets.diagram.flags import numbered
from register.sheets.diagram.shapes import Shown


@dataclass(frozen=True)
class Beside:
    """A part of the loop that is open, and the findings that are flagged on it. What it is not, is None."""

    shown: Shown
    findings: list[tuple[Finding, Rule | None]]
    tag: Tag | None = None
    bay: Bay | None = None
    board: FittedBoard | None = None
    ports: Sequence[Port] = ()
    connection: Connection | None = None
    link: int | None = None


def address_of(loop: Loop, shown: Shown) -> str:
    asked = urlencode({"show": shown.kind, "tag": shown.tag, "place": shown.place})
    return f"{reverse('loops:detail', args=[loop.number])}?{asked}#beside"


def beside(row: LoopRow, loop: Loop, findings: Sequence[Finding], shown: Shown) -> Beside | None:
    """What is shown; None where the loop has no such part (any more)."""
    if shown.kind == "finding":
        verdicts = {one.verdict.identity: one for one in findings}
        for flag in numbered(one.verdict for one in findings):
            if str(flag.number) == shown.place:
                one = verdicts[flag.verdict.identity]
                return Beside(shown, _with_rules([one]), tag=loop.tag(one.subject))
        return None
    tag = loop.tag(shown.tag)
    if tag is None:
        return None
    here = [one for one in findings if one.subject == tag.name]
    if shown.kind == "tag":
        return Beside(shown, _with_rules(here), tag=tag)
    if shown.kind == "board":
        for bay, board in tag.bays:
            if bay.name == shown.place:
                ports = [port for port in tag.ports if port.bay == bay.name]
                names = {f"bay {bay.name}", *(port.name for port in ports)}
                at_bay = [one for one in here if one.place in names]
                return Beside(shown, _with_rules(at_bay), tag=tag, bay=bay, board=board, ports=ports)
    if shown.kind == "link":
        for one in loop.links_into(tag):
            if one.target.name == shown.place:
                ends = {(one.source_tag.name, one.source.name), (tag.name, one.target.name)}
                at_link = [each for each in findings if (each.subject, each.place) in ends]
                link = Link.objects.filter(target__tag__name=tag.name, target__name=one.target.name).first()
                return Beside(shown, _with_rules(at_link), tag=tag, connection=one, link=link and link.pk)
    return None


def _with_rules(findings: Sequence[Finding]) -> list[tuple[Finding, Rule | None]]:
    return [(one, all_rules().get(one.rule)) for one in findings]
