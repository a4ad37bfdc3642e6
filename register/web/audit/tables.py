from __future__ import annotations

from datetime import datetime

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from register.models import Finding, Revision
from register.web.audit.answers import Scope, concession_words, issue_words
from register.web.history.tables import RevisionTable
from register.web.parts.marks import severity_mark
from register.web.parts.words import localdate


class StandingTable(tables.Table):
    loop = tables.Column(linkify=("loops:detail", {"number": tables.A("loop__number")}))
    area = tables.Column(accessor="loop__area")
    revision = tables.Column(
        accessor="number",
        verbose_name=_("Revision"),
        linkify=("history:detail", {"number": tables.A("loop__number"), "revision": tables.A("number")}),
    )
    at = tables.Column(verbose_name=_("Recorded"))
    issue = tables.Column(empty_values=())
    sheet = tables.Column(empty_values=())

    caption = _("Loop sheets as they stood")

    class Meta:
        orderable = False
        empty_text = _("No loop was recorded by then.")

    def __init__(self, scope: Scope, rows: object):
        super().__init__(rows, prefix="sheets-")
        self.scope = scope

    def render_at(self, value: datetime) -> str:
        return localdate(value)

    def render_issue(self, record: Revision) -> str:
        return issue_words(record)

    def render_sheet(self, record: Revision) -> str:
        number = record.loop.number
        address = reverse("sheets:pdf", args=[number])
        return format_html('<a href="{}?on={}">Sheet of {} (PDF)</a>', address, self.scope.day.isoformat(), number)


class MadeTable(RevisionTable):
    loop = tables.Column(linkify=("loops:detail", {"number": tables.A("loop__number")}))

    caption = _("Changes in the period, the latest first")

    class Meta:
        model = Revision
        orderable = False
        fields = ("loop", "number", "at", "by", "reason", "work_order", "changes")
        empty_text = _("Nothing was changed in the period.")

    def __init__(self, scope: Scope, rows: object):
        super().__init__(rows, prefix="changes-")


class OpenTable(tables.Table):
    loop = tables.Column(linkify=("loops:detail", {"number": tables.A("loop__number")}))
    severity = tables.Column(empty_values=())
    subject = tables.Column(verbose_name=_("Where"))
    text = tables.Column(verbose_name=_("What was wrong"), attrs={"td": {"class": "wide"}})
    rule = tables.Column(linkify=("rules:detail", {"slug": tables.A("rule")}))
    first_seen = tables.Column(verbose_name=_("First seen"))
    concession = tables.Column(accessor="held_until", default="none", attrs={"td": {"class": "wide"}})

    caption = _("Findings that were open, and the concessions that held")

    class Meta:
        orderable = False
        empty_text = _("No finding was open.")

    def __init__(self, scope: Scope, rows: object):
        super().__init__(rows, prefix="findings-")

    def render_severity(self, record: Finding) -> str:
        return severity_mark(record.severity, record.unknown)

    def render_first_seen(self, value: datetime) -> str:
        return localdate(value)

    def render_concession(self, record: Finding) -> str:
        return concession_words(record)


TABLES = {"sheets": StandingTable, "changes": MadeTable, "findings": OpenTable}
