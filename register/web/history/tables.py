from __future__ import annotations

from datetime import datetime

import django_tables2 as tables
from django.utils.html import format_html, format_html_join
from django.utils.translation import gettext_lazy as _

from register.models import Revision
from register.plant.diff import changes
from register.web.parts.words import localdate

SHOWN_AT_ONCE = 5
"""Changes that a line of the list shows before it folds the others away."""


class RevisionTable(tables.Table):
    number = tables.Column(
        linkify=("history:detail", {"number": tables.A("loop__number"), "revision": tables.A("number")}),
        verbose_name=_("Revision"),
    )
    at = tables.Column(verbose_name=_("When"))
    by = tables.Column(accessor="by__display_name", verbose_name=_("Who"), order_by="by__username")
    reason = tables.Column(verbose_name=_("Why"), orderable=False)
    changes = tables.Column(
        verbose_name=_("What changed"),
        orderable=False,
        empty_values=(),
        attrs={"td": {"class": "wide"}},
    )

    caption = _("Revisions, the latest first")

    class Meta:
        model = Revision
        fields = ("number", "at", "by", "reason", "work_order", "changes")
        empty_text = _("Nothing was recorded of this loop yet.")

    def render_at(self, value: datetime) -> str:
        return localdate(value)

    def render_number(self, value: int) -> str:
        return f"Revision {value}"

    def render_changes(self, value: list[str], record: Revision) -> str:
        return folded(value) if value else nothing_changed(record)

    def value_changes(self, value: list[str], record: Revision) -> str:
        return "; ".join(value) or nothing_changed(record)


def nothing_changed(revision: Revision) -> str:
    return "first recorded" if revision.number == 1 else "nothing that the sheet shows"


def folded(changes: list[str]) -> str:
    """The first few changes in sight, the others folded away."""
    first, more = changes[:SHOWN_AT_ONCE], changes[SHOWN_AT_ONCE:]
    shown = format_html("<ul>{}</ul>", _items(first))
    if not more:
        return shown
    return format_html("{}<details><summary>{} more</summary><ul>{}</ul></details>", shown, len(more), _items(more))


def _items(changes: list[str]) -> str:
    return format_html_join("", "<li>{}</li>", ((one,) for one in changes))


class ChangeTable(tables.Table):
    """What differs between two revisions, fact by fact."""

    where = tables.Column(default="the loop")
    what = tables.Column()
    old = tables.Column(default="not recorded")
    new = tables.Column(default="not recorded")

    caption = _("What differs")

    class Meta:
        empty_text = _("The two say the same.")

    def __init__(self, old: Revision, new: Revision):
        super().__init__(list(changes(old.loop_value(), new.loop_value())))
        for name, revision in (("old", old), ("new", new)):
            self.columns[name].column.verbose_name = f"Revision {revision.number}"
