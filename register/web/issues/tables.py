from __future__ import annotations

from datetime import datetime

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from register.models import IssueState, SheetIssue
from register.models.accounts import User
from register.web.parts.words import localdate


class IssueTable(tables.Table):
    number = tables.Column(verbose_name=_("Issue"))
    state = tables.Column(attrs={"td": {"class": "wide"}})
    revision = tables.Column(
        accessor="revision__number",
        linkify=("history:detail", {"number": tables.A("loop__number"), "revision": tables.A("revision__number")}),
    )
    drafted_by = tables.Column(verbose_name=_("Drafted by"))
    checked_by = tables.Column(verbose_name=_("Checked by"), default="nobody yet")
    approved_by = tables.Column(verbose_name=_("Approved by"), default="nobody yet")
    approved_at = tables.Column(verbose_name=_("Approved"), default="not yet")
    exception = tables.Column(default="none", attrs={"td": {"class": "wide"}})

    caption = _("Issues, the latest first")

    class Meta:
        model = SheetIssue
        orderable = False
        fields = (
            "number",
            "state",
            "revision",
            "drafted_by",
            "checked_by",
            "approved_by",
            "approved_at",
            "exception",
        )
        empty_text = _("The sheet of this loop was never issued.")

    def render_number(self, value: int, record: SheetIssue) -> str:
        if record.state != IssueState.APPROVED:
            return f"Issue {value}"
        return format_html(
            '<a href="{}">Issue {} (PDF)</a>', reverse("issues:pdf", args=[record.loop.number, value]), value
        )

    def render_state(self, value: str, record: SheetIssue) -> str:
        if record.state != IssueState.APPROVED:
            return f"{value}, under way"
        in_force = max((one.number for one in self.data.data if one.state == IssueState.APPROVED), default=0)
        return "approved, in force" if record.number == in_force else "superseded"

    value_state = render_state

    def render_drafted_by(self, value: User) -> str:
        return value.display_name

    render_checked_by = render_approved_by = render_drafted_by
    value_drafted_by = value_checked_by = value_approved_by = render_drafted_by

    def render_approved_at(self, value: datetime) -> str:
        return localdate(value)
