from __future__ import annotations

from datetime import datetime

import django_tables2 as tables
from django.db.models import Model
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from register.models import BulkEdit
from register.web.parts.words import localdate


class PickColumn(tables.Column):
    """A box to tick beside each row, for :mod:`register.web.many`; its form is in ``many/choose.html``."""

    def __init__(self):
        super().__init__(accessor="pk", verbose_name=gettext_lazy("Choose"), orderable=False, exclude_from_export=True)

    def render(self, record: Model) -> str:
        return format_html(
            '<label class="check"><input type="checkbox" name="pick" value="{}" form="many">'
            '<span class="visually-hidden">{}</span></label>',
            record.pk,
            record,
        )


class BulkEditTable(tables.Table):
    """What was set for many rows at once."""

    at = tables.Column(verbose_name=gettext_lazy("When"), linkify=("many:detail", {"pk": tables.A("pk")}))
    what = tables.Column(accessor="pk", verbose_name=gettext_lazy("What"), orderable=False)
    by = tables.Column(accessor="by__display_name", verbose_name=gettext_lazy("Who"), order_by="by__username")
    reason = tables.Column(verbose_name=gettext_lazy("Why"))
    undone_at = tables.Column(verbose_name=gettext_lazy("Undone"), default=gettext_lazy("stands"))

    caption = gettext_lazy("Changes of many rows, the latest first")

    class Meta:
        model = BulkEdit
        fields = ("at", "what", "by", "reason", "undone_at")
        empty_text = gettext_lazy("Nothing was changed in many rows at once yet.")

    def render_at(self, value: datetime) -> str:
        return localdate(value)

    def render_what(self, record: BulkEdit) -> str:
        return str(record)

    value_what = render_what

    def render_undone_at(self, record: BulkEdit) -> str:
        return _("%(day)s by %(who)s") % {"day": localdate(record.undone_at), "who": record.undone_by.display_name}
