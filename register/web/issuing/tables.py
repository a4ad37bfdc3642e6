from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from register.models import IssueState, Loop, SheetIssue
from register.web.issuing.filters import TURNS


class WaitingTable(tables.Table):
    number = tables.Column(linkify=("issues:list", {"number": tables.A("number")}), verbose_name=_("Loop"))
    service = tables.Column(attrs={"td": {"class": "wide"}})
    area = tables.Column(order_by="area__path")
    revision = tables.Column(attrs={"td": {"class": "num"}})
    standing = tables.Column(empty_values=(), orderable=False, attrs={"td": {"class": "wide"}})
    turn = tables.Column(verbose_name=_("What is next"))

    caption = _("Sheets that wait to be issued")

    class Meta:
        model = Loop
        fields = ("number", "service", "area", "revision", "standing", "turn")
        order_by = "number"
        empty_text = _("Every sheet shows its loop as it stands and is issued, or none fits the filter.")

    def render_standing(self, record: Loop) -> str:
        """How far the sheet is: who did the last part of it, or what it was overtaken by."""
        for issue in record.issues_under_way:
            if record.turn == "draft":
                by = issue.checked_by or issue.drafted_by
                return f"{issue.state} by {by.display_name} as revision {issue.revision.number}, overtaken by a change"
            by = issue.checked_by if issue.state == IssueState.CHECKED else issue.drafted_by
            return f"{issue.state} by {by.display_name}"
        if record.issued is None:
            return "never issued"
        return f"changed since issue {record.issued}, which shows revision {record.issued_revision}"

    value_standing = render_standing

    def render_turn(self, value: str, record: Loop) -> str:
        done = [] if value == "draft" else [name for one in record.issues_under_way for name in _who(one)]
        best = f", best not by {' or '.join(dict.fromkeys(done))}" if done else ""
        return f"{dict(TURNS)[value]}{best}"

    value_turn = render_turn


def _who(issue: SheetIssue) -> list[str]:
    return [person.display_name for person in (issue.drafted_by, issue.checked_by) if person]
