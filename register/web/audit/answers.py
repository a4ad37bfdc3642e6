"""What an auditor asks of a day: the sheets as they stood, who changed what and why, and what was open."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce, Concat, NullIf, Trim
from django.utils import timezone

from register.exchange.lists import Cell
from register.models import Area, Concession, Finding, Revision, SheetIssue
from register.web.history.tables import nothing_changed
from register.web.parts.marks import severity_words
from register.web.sheets.views import end_of


@dataclass(frozen=True)
class Scope:
    day: date
    since: date
    area: Area | None = None

    @property
    def moment(self) -> datetime:
        return end_of(self.day)

    @property
    def words(self) -> str:
        return f"Area {self.area}" if self.area else "The whole plant"

    def within(self, rows: QuerySet) -> QuerySet:
        return rows.filter(loop__area__in=Area.objects.within(self.area)) if self.area else rows


@dataclass(frozen=True)
class Answer:
    """One of the three: its name in addresses, its title, its rows and how a row reads outside the register."""

    name: str
    title: str
    headings: tuple[str, ...]
    rows: Callable[[Scope], QuerySet]
    cells: Callable[[object], tuple[Cell, ...]]

    def exported(self, scope: Scope) -> Iterator[tuple[Cell, ...]]:
        return (self.cells(one) for one in self.rows(scope).iterator(chunk_size=1000))

    def heading(self, scope: Scope) -> str:
        if self.name == "changes":
            return f"{self.title} from {scope.since:%Y-%m-%d} to {scope.day:%Y-%m-%d}"
        return f"{self.title} at the end of {scope.day:%Y-%m-%d}"


def standing_revisions(scope: Scope) -> QuerySet:
    """The revision of each loop that stood then, with ``issue`` and ``issued_revision``, its issue in force."""
    later = Revision.objects.filter(loop=OuterRef("loop"), at__lte=scope.moment, number__gt=OuterRef("number"))
    issue = SheetIssue.objects.approved().filter(loop=OuterRef("loop"), approved_at__lte=scope.moment)
    in_force = issue.order_by("-number")
    rows = Revision.objects.filter(~Exists(later), at__lte=scope.moment).annotate(
        issue=Subquery(in_force.values("number")[:1]),
        issued_revision=Subquery(in_force.values("revision__number")[:1]),
    )
    return scope.within(rows).listed().select_related("loop__area", "by").order_by("loop__number")


def revisions_made(scope: Scope) -> QuerySet:
    begin = timezone.make_aware(datetime.combine(scope.since, time.min))
    rows = Revision.objects.filter(at__gte=begin, at__lte=scope.moment)
    return scope.within(rows).listed().select_related("loop__area", "by").order_by("-at", "loop__number")


def findings_open(scope: Scope) -> QuerySet:
    """What was open then; ``held_…`` say of the concession that set it aside."""
    held = Concession.objects.filter(
        Q(ended_at__isnull=True) | Q(ended_at__gt=scope.moment),
        loop=OuterRef("loop"),
        rule=OuterRef("rule"),
        subject=OuterRef("subject"),
        place=OuterRef("place"),
        at__lte=scope.moment,
        until__gte=scope.day,
    )
    full_name = Trim(Concat("by__first_name", Value(" "), "by__last_name"))
    by = held.annotate(name=Coalesce(NullIf(full_name, Value("")), F("by__username")))
    rows = Finding.objects.open_at(scope.moment).annotate(
        held_until=Subquery(held.values("until")[:1]),
        held_reason=Subquery(held.values("reason")[:1]),
        held_reference=Subquery(held.values("reference")[:1]),
        held_by=Subquery(by.values("name")[:1]),
    )
    return scope.within(rows).select_related("loop__area").by_urgency().order_by("loop__number", "rule", "subject")


def issue_words(revision: Revision) -> str:
    if revision.issue is None:
        return "never issued"
    if revision.issued_revision == revision.number:
        return f"issue {revision.issue}"
    return f"not issued; issue {revision.issue} shows revision {revision.issued_revision}"


def concession_words(finding: Finding) -> str:
    if not finding.held_until:
        return ""
    reference = f" ({finding.held_reference})" if finding.held_reference else ""
    return f"until {finding.held_until:%Y-%m-%d}, {finding.held_by}: {finding.held_reason}{reference}"


def _moment(at: datetime) -> str:
    return timezone.localtime(at).isoformat(sep=" ", timespec="seconds")


ANSWERS = {
    one.name: one
    for one in (
        Answer(
            "sheets",
            "Loop sheets as they stood",
            ("Loop", "Area", "Revision", "Recorded", "By", "Why", "Issue", "sha256 of the revision"),
            standing_revisions,
            lambda one: (
                one.loop.number,
                str(one.loop.area),
                one.number,
                _moment(one.at),
                one.by.display_name,
                one.reason,
                issue_words(one),
                one.sha256,
            ),
        ),
        Answer(
            "changes",
            "Changes",
            ("Loop", "Area", "When", "Who", "Why", "Work order", "Revision", "What changed"),
            revisions_made,
            lambda one: (
                one.loop.number,
                str(one.loop.area),
                _moment(one.at),
                one.by.display_name,
                one.reason,
                one.work_order,
                one.number,
                "; ".join(one.changes) or nothing_changed(one),
            ),
        ),
        Answer(
            "findings",
            "Findings and concessions open",
            ("Loop", "Area", "Severity", "Where", "What was wrong", "Rule", "First seen", "Concession"),
            findings_open,
            lambda one: (
                one.loop.number,
                str(one.loop.area),
                severity_words(one.severity, one.unknown),
                ", ".join(filter(None, (one.subject, one.place))),
                one.text,
                one.rule,
                _moment(one.first_seen),
                concession_words(one),
            ),
        ),
    )
}
