from __future__ import annotations

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from register.models import Gap


class ItemTable(tables.Table):
    item = tables.Column(linkify=lambda value: reverse("completeness:detail", args=[value]))
    asks = tables.Column(verbose_name=_("What it asks"), attrs={"td": {"class": "wide"}})
    minimum = tables.Column(verbose_name=_("A diagram"))
    lacking = tables.Column(verbose_name=_("Loops that lack it"), attrs={"td": {"class": "num"}})

    caption = _("Items and the loops that lack them")

    class Meta:
        orderable = False

    def render_minimum(self, value: bool) -> str:
        return "must show it" if value else "may show it"

    value_minimum = render_minimum


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
