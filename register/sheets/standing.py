"""Loops as they stood at a moment, with all that their sheets print, in a fixed number of queries for any number."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date, datetime

import msgspec
from django.db.models import Max, Q
from django.urls import reverse
from django.utils import timezone

from register.models import Concession, Finding, Revision, SheetIssue
from register.plant import values
from register.rules.engine import Verdict
from register.sheets.sheet import ConcessionNote, IssueNote, RevisionNote, render_sheet, sheet_html


@dataclass(frozen=True)
class Standing:
    """A loop at a moment: its value, revision, open findings, the concessions that held and its issue."""

    loop: values.Loop
    revision: Revision
    verdicts: tuple[Verdict, ...]
    concessions: dict[tuple[str, str, str], ConcessionNote]
    issue: IssueNote

    @property
    def note(self) -> RevisionNote:
        at = timezone.localtime(self.revision.at)
        return RevisionNote(self.revision.number, at, self.revision.by.display_name, self.revision.reason)

    def sheet(self, look: Look) -> bytes:
        return render_sheet(self.loop, self.verdicts, **self._noted(look))

    def html(self, look: Look) -> str:
        """What the sheet is printed from."""
        return sheet_html(self.loop, self.verdicts, **self._noted(look))

    def _noted(self, look: Look) -> dict[str, object]:
        address = loop_addresses(look.address)
        return {
            "revision": self.note,
            "plant_name": look.plant_name,
            "paper": look.paper,
            "live_url": address(self.loop.number),
            "as_on": look.as_on,
            "concessions": self.concessions,
            "link_for": address,
            "issue": self.issue,
        }

    def facts_sha256(self, look: Look) -> str:
        """Names all that the sheet prints: two sheets of equal facts are the same."""
        concessions = sorted(self.concessions.items())
        said = (self.revision.sha256, self.note, self.verdicts, concessions, self.issue, look)
        return hashlib.sha256(msgspec.json.encode(said, order="deterministic")).hexdigest()


@dataclass(frozen=True)
class Look:
    """What a sheet shows besides its loop: the plant's name, the paper, the day, where the register is served."""

    plant_name: str
    paper: str
    address: str
    as_on: date | None = None


def loop_addresses(address: str) -> Callable[[str], str]:
    """Gives the address of a loop's page below the register's address, such as https://loops.example/."""
    return lambda number: address.rstrip("/") + reverse("loops:detail", args=[number])


def standing_at(loops: Collection[int], moment: datetime) -> list[Standing]:
    """Each loop of these keys that was recorded by the moment, in the order of their numbers."""
    numbered = Revision.objects.filter(loop__in=loops, at__lte=moment).order_by().values_list("loop")
    wanted = Q(pk__in=[])
    by_number: dict[int, list[int]] = defaultdict(list)
    for loop, number in numbered.annotate(latest=Max("number")):
        by_number[number].append(loop)
    for number, with_it in by_number.items():
        wanted |= Q(number=number, loop__in=with_it)
    revisions = list(Revision.objects.filter(wanted).select_related("by").order_by("loop__number"))
    verdicts: dict[int, list[Verdict]] = defaultdict(list)
    for one in Finding.objects.filter(loop__in=loops).open_at(moment).by_urgency():
        verdicts[one.loop_id].append(one.verdict)
    concessions = concessions_at(loops, moment)
    issues = _issue_notes(revisions, moment)
    return [
        Standing(
            loop=revision.loop_value(),
            revision=revision,
            verdicts=tuple(verdicts[revision.loop_id]),
            concessions=concessions[revision.loop_id],
            issue=issues.get(revision.loop_id, IssueNote()),
        )
        for revision in revisions
    ]


def concessions_at(loops: Collection[int], moment: datetime) -> dict[int, dict[tuple[str, str, str], ConcessionNote]]:
    """The concessions that held at a moment, by loop and by the finding that they permit."""
    held = Q(ended_at__isnull=True) | Q(ended_at__gt=moment)
    rows = Concession.objects.filter(held, loop__in=loops, at__lte=moment, until__gte=timezone.localdate(moment))
    found: dict[int, dict[tuple[str, str, str], ConcessionNote]] = defaultdict(dict)
    for one in rows.select_related("by"):
        found[one.loop_id][one.rule, one.subject, one.place] = ConcessionNote(
            by=one.by.display_name, until=one.until, reason=one.reason, reference=one.reference
        )
    return found


def issued_sheet(issue: SheetIssue, look: Look) -> bytes:
    """The sheet of an issue as it stands at the moment of its approval."""
    (standing,) = standing_at([issue.loop_id], issue.approved_at)
    return standing.sheet(look)


def _issue_notes(revisions: Collection[Revision], moment: datetime) -> dict[int, IssueNote]:
    """What the sheet of each revision says of its loop's issues, by the key of the loop."""
    issues: dict[int, list[SheetIssue]] = defaultdict(list)
    for one in SheetIssue.objects.approved_by_moment(moment, [one.loop_id for one in revisions]).listed():
        issues[one.loop_id].append(one)
    since: dict[int, SheetIssue] = {}
    for revision in revisions:
        *before, last = issues[revision.loop_id] or [None]
        if last and last.revision_id != revision.pk:
            since[revision.loop_id] = last
        elif before:
            since[revision.loop_id] = before[-1]
    old = {one.pk: one for one in Revision.objects.filter(pk__in=[one.revision_id for one in since.values()])}
    notes = {}
    for revision in revisions:
        if not issues[revision.loop_id]:
            continue
        last, compared = issues[revision.loop_id][-1], since.get(revision.loop_id)
        notes[revision.loop_id] = IssueNote(
            number=last.number,
            revision=last.revision.number,
            at=timezone.localtime(last.approved_at),
            drafted_by=last.drafted_by.display_name,
            checked_by=last.checked_by.display_name,
            approved_by=last.approved_by.display_name,
            exception=last.exception,
            is_this=last.revision_id == revision.pk,
            since=compared.number if compared else 0,
            before=old[compared.revision_id].loop_value() if compared else None,
        )
    return notes
