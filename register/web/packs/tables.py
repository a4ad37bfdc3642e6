from __future__ import annotations

from datetime import datetime

import django_tables2 as tables
from django.template.defaultfilters import filesizeformat
from django.utils.translation import gettext_lazy as _

from register.models import Pack
from register.web.parts.words import localdate


def state_of(pack: Pack) -> str:
    if pack.made_at:
        return "made"
    if pack.job and pack.job.ended_at:
        return "failed" if pack.job.failed else "cancelled"
    return "being made"


class PackTable(tables.Table):
    title = tables.Column(linkify=("packs:detail", {"pk": tables.A("pk")}), verbose_name=_("Pack"))
    state = tables.Column(empty_values=(), orderable=False)
    sheets = tables.Column(attrs={"td": {"class": "num"}})
    file_bytes = tables.Column(verbose_name=_("File"), attrs={"td": {"class": "num"}}, empty_values=())
    as_on = tables.Column(verbose_name=_("As on"), default="as it was asked for")
    by = tables.Column(accessor="by__display_name", verbose_name=_("Asked for by"), order_by="by__username")
    asked_at = tables.Column(verbose_name=_("Asked for"))

    caption = _("Packs, the latest first")

    class Meta:
        model = Pack
        fields = ("title", "state", "sheets", "form", "file_bytes", "as_on", "by", "asked_at")
        empty_text = _("No pack was asked for yet.")

    def render_state(self, record: Pack) -> str:
        return state_of(record)

    value_state = render_state

    def render_file_bytes(self, value: int, record: Pack) -> str:
        return "deleted" if record.file_deleted_at else filesizeformat(value) if value else "—"

    def value_file_bytes(self, value: int) -> int:
        return value

    def render_asked_at(self, value: datetime) -> str:
        return localdate(value)
