from __future__ import annotations

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from register.models import Finding
from register.rules.engine import all_rules
from register.web.parts.marks import severity_mark, severity_words


def subject_url(finding: Finding) -> str:
    """The page of what a finding is about: a tag, or the loop as a whole."""
    if finding.subject == finding.loop.number:
        return reverse("loops:detail", args=[finding.subject])
    return reverse("tags:detail", args=[finding.subject])


class FindingTable(tables.Table):
    subject = tables.Column(linkify=lambda record: subject_url(record), verbose_name=_("Tag"))
    severity = tables.Column(order_by=("unknown", "severity"))
    text = tables.Column(verbose_name=_("What is wrong"), orderable=False, attrs={"td": {"class": "wide"}})
    rule = tables.Column(linkify=("rules:detail", {"slug": tables.A("rule")}))
    loop = tables.Column(
        linkify=("loops:detail", {"number": tables.A("loop__number")}),
        order_by="loop__number",
        attrs={"td": {"class": "nowrap"}},
    )
    area = tables.Column(accessor="loop__area", order_by="loop__area__path")
    first_seen = tables.DateColumn(short=True)
    remedy = tables.Column(accessor="rule", verbose_name=_("How to put it right"), visible=False)

    caption = _("Findings")

    class Meta:
        model = Finding
        fields = ("subject", "severity", "text", "rule", "loop", "area", "first_seen", "remedy")
        empty_text = _("No finding matches. Take a filter away to see more.")

    def render_severity(self, record: Finding) -> str:
        return severity_mark(record.severity, record.unknown)

    def value_severity(self, record: Finding) -> str:
        return severity_words(record.severity, record.unknown)

    def value_remedy(self, value: str) -> str:
        return rule.remedy if (rule := all_rules().get(value)) else ""
