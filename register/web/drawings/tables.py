from __future__ import annotations

from datetime import datetime

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from register.exchange.dexpi.comparing import Difference
from register.models import DrawingReading
from register.web.parts.words import localdate


class ReadingTable(tables.Table):
    drawing = tables.Column(verbose_name=_("Drawing"), linkify=("drawings:detail", {"pk": tables.A("pk")}))
    revision = tables.Column(verbose_name=_("Revision"))
    file_name = tables.Column(verbose_name=_("File"))
    read_at = tables.Column(verbose_name=_("Read"))
    by = tables.Column(accessor="by__display_name", verbose_name=_("By"), order_by="by__username")

    caption = _("Drawings that were read, the latest first")

    class Meta:
        model = DrawingReading
        fields = ("drawing", "revision", "file_name", "read_at", "by")
        empty_text = _("No drawing was read yet.")

    def render_read_at(self, value: datetime) -> str:
        return localdate(value)


class DifferenceTable(tables.Table):
    """Differences of one kind. With boxes, each can be ticked for the form ``take``."""

    subject = tables.Column(verbose_name=_("Tag, loop or line"))
    fact = tables.Column(verbose_name=_("Fact"))
    drawn = tables.Column(verbose_name=_("The drawing says"), default="—")
    held = tables.Column(verbose_name=_("The register holds"), default="—")
    take = tables.Column(accessor="key", verbose_name=_("As drawn"))

    class Meta:
        orderable = False

    def __init__(self, rows: list[Difference], caption: str, *, boxes: bool = False):
        unsaid = {name for name in ("drawn", "held") if not any(getattr(one, name) for one in rows)}
        super().__init__(rows, exclude=unsaid if boxes else unsaid | {"take"})
        self.caption = caption

    def render_take(self, record: Difference) -> str:
        return format_html(
            '<label class="check"><input type="checkbox" name="take" value="{}" form="take">'
            '<span class="visually-hidden">{} {}</span></label>',
            record.key,
            record.subject,
            record.fact,
        )
