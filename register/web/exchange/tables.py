from __future__ import annotations

from datetime import datetime

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from register.models import ImportRun
from register.web.parts.words import localdate

FIGURE = {"td": {"class": "num"}}


class CountsTable(tables.Table):
    """What an import does, by sheet."""

    sheet = tables.Column(verbose_name=_("Sheet"))
    added = tables.Column(verbose_name=_("To add"), attrs=FIGURE)
    changed = tables.Column(verbose_name=_("To change"), attrs=FIGURE)
    unchanged = tables.Column(verbose_name=_("Stay as they are"), attrs=FIGURE)

    caption = _("Rows by sheet")

    class Meta:
        orderable = False


class RunTable(tables.Table):
    name = tables.Column(linkify=("exchange:run", {"pk": tables.A("pk")}), verbose_name=_("Import"))
    state = tables.Column(verbose_name=_("State"))
    rows = tables.Column(verbose_name=_("Rows read"), attrs=FIGURE)
    added = tables.Column(orderable=False, verbose_name=_("Added"), attrs=FIGURE)
    changed = tables.Column(orderable=False, verbose_name=_("Changed"), attrs=FIGURE)
    problems = tables.Column(verbose_name=_("Problems"), attrs=FIGURE)
    by = tables.Column(accessor="by__display_name", verbose_name=_("Sent by"), order_by="by__username")
    at = tables.Column(verbose_name=_("Sent"))

    caption = _("Imports, the latest first")

    class Meta:
        model = ImportRun
        fields = ("name", "state", "rows", "added", "changed", "problems", "by", "at")
        empty_text = _("Nothing was imported yet.")

    def render_at(self, value: datetime) -> str:
        return localdate(value)
