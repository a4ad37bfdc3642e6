from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from register.models import Area, Loop
from register.web.many.tables import PickColumn
from register.web.parts.marks import counted, severity_counts
from register.web.workbench.bench import PeekColumn


class LoopTable(tables.Table):
    number = tables.Column(linkify=("loops:detail", {"number": tables.A("number")}), verbose_name=_("Loop"))
    area = tables.Column(order_by="area__path")
    findings = tables.Column(
        empty_values=(),
        verbose_name=_("Open findings"),
        order_by=("-open_errors", "-open_warnings", "-open_advice", "-open_unknowns"),
    )
    completeness_percent = tables.Column(verbose_name=_("Record complete (%)"), attrs={"td": {"class": "num"}})
    revision = tables.Column(attrs={"td": {"class": "num"}})
    peek = PeekColumn()
    pick = PickColumn()

    caption = _("Loops")

    class Meta:
        model = Loop
        fields = (
            "number",
            "service",
            "area",
            "kind",
            "criticality",
            "findings",
            "danger",
            "target_sil",
            "completeness_percent",
            "checked_at",
            "revision",
            "peek",
            "pick",
        )
        empty_text = _("No loop matches. Take a filter away, or search for another part of the tag.")

    def render_area(self, value: Area) -> str:
        return value.below_the_root

    def render_findings(self, record: Loop) -> str:
        return severity_counts(record.open_findings)

    def value_findings(self, record: Loop) -> str:
        return counted(record.open_findings)
