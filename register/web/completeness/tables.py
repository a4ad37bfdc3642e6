from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from register.models import Gap


class GapTable(tables.Table):
    loop = tables.Column(linkify=("loops:detail", {"number": tables.A("loop__number")}), order_by="loop__number")
    service = tables.Column(accessor="loop__service")
    area = tables.Column(accessor="loop__area", order_by="loop__area__path")
    where = tables.Column(verbose_name=_("Missing at"))

    caption = _("Where it is missing")

    class Meta:
        model = Gap
        fields = ("loop", "service", "area", "where")
        empty_text = _("No loop lacks this.")
