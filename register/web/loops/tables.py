from __future__ import annotations

import django_tables2 as tables
from django.db.models import F
from django.utils.translation import gettext_lazy as _

from register.models import Loop
from register.web.many.tables import PickColumn
from register.web.parts.marks import counted, severity_counts


class LoopTable(tables.Table):
    number = tables.Column(linkify=("loops:detail", {"number": tables.A("number")}), verbose_name=_("Loop"))
    area = tables.Column(order_by="area__path")
    findings = tables.Column(empty_values=(), verbose_name=_("Open findings"))
    revision = tables.Column(attrs={"td": {"class": "num"}})
    pick = PickColumn()

    caption = _("Loops")

    class Meta:
        model = Loop
        fields = ("number", "service", "area", "kind", "criticality", "findings", "revision", "pick")
        empty_text = _("No loop matches. Take a filter away, or search for another part of the tag.")

    def render_findings(self, record: Loop) -> str:
        return severity_counts(record.open_findings)

    def value_findings(self, record: Loop) -> str:
        return counted(record.open_findings)

    def order_findings(self, queryset, is_descending):
        counts = ("open_errors", "open_warnings", "open_advice", "open_unknowns")
        return queryset.order_by(*(F(one).asc() if is_descending else F(one).desc() for one in counts), "number"), True
