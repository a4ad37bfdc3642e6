from __future__ import annotations

from dataclasses import dataclass

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from register.plant.words import Severity
from register.rules.engine import Rule
from register.web.parts.marks import severity_mark

FIGURE = {"td": {"class": "num"}}


@dataclass(frozen=True)
class RuleRow:
    """A rule with its findings counted and how the plant has set it."""

    rule: Rule
    open: int = 0
    unknown: int = 0
    conceded: int = 0
    set_as: str = ""

    @property
    def urgency(self) -> int:
        return list(Severity).index(self.rule.severity)


class RuleTable(tables.Table):
    slug = tables.Column(
        accessor="rule__slug", linkify=("rules:detail", {"slug": tables.A("rule__slug")}), verbose_name=_("Rule")
    )
    title = tables.Column(accessor="rule__title", verbose_name=_("What is right"), attrs={"td": {"class": "wide"}})
    theme = tables.Column(accessor="rule__theme")
    severity = tables.Column(accessor="urgency")
    open = tables.Column(attrs=FIGURE)
    unknown = tables.Column(verbose_name=_("Cannot tell"), attrs=FIGURE)
    conceded = tables.Column(verbose_name=_("Set aside"), attrs=FIGURE)
    set_as = tables.Column(verbose_name=_("Set by the plant"))
    source = tables.Column(accessor="rule__source", orderable=False, attrs={"td": {"class": "wide"}})

    caption = _("Rules")

    class Meta:
        order_by = ("theme", "urgency", "slug")
        empty_text = _("No rule matches. Take a filter away to see more.")

    def render_severity(self, record: RuleRow) -> str:
        return severity_mark(record.rule.severity)

    def value_severity(self, record: RuleRow) -> str:
        return record.rule.severity

    def render_open(self, record: RuleRow) -> str | int:
        return hits(record.rule, record.open)

    def render_unknown(self, record: RuleRow) -> str | int:
        return hits(record.rule, record.unknown, "unknown")

    def render_conceded(self, record: RuleRow) -> str | int:
        return hits(record.rule, record.conceded, "conceded")


def hits(rule: Rule, count: int, standing: str = "open") -> str | int:
    """A number of findings that leads to them."""
    if not count:
        return 0
    return format_html(
        '<a href="{}?rule={}&amp;standing={}">{}</a>', reverse("findings:list"), rule.slug, standing, count
    )
