from __future__ import annotations

from datetime import date

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, strip_tags
from django.utils.translation import gettext_lazy as _

from register.models import Tag
from register.models.loops import TagQuerySet
from register.plant.words import Severity
from register.web.parts.words import localdate


class DueTable(tables.Table):
    tag = tables.Column(
        accessor="name", linkify=lambda record: reverse("tags:detail", args=[record.name]), order_by="name"
    )
    standing = tables.Column(accessor="pk", order_by=("calibration_due_on", "name"), attrs={"td": {"class": "wide"}})
    due = tables.Column(accessor="calibration_due_on", attrs={"td": {"class": "nowrap"}})
    last = tables.Column(
        accessor="last_on", verbose_name=_("Last calibrated"), orderable=False, attrs={"td": {"class": "nowrap"}}
    )
    result = tables.Column(accessor="last_result", verbose_name=_("Last result"), orderable=False)
    interval = tables.Column(
        accessor="calibration_interval_months", verbose_name=_("Every (months)"), attrs={"td": {"class": "num"}}
    )
    criticality = tables.Column(accessor="loop__criticality", orderable=False)
    loop = tables.Column(
        accessor="loop__number",
        linkify=lambda record: reverse("loops:detail", args=[record.loop.number]),
        attrs={"td": {"class": "nowrap"}},
    )
    area = tables.Column(accessor="loop__area__path")
    record = tables.Column(accessor="name", orderable=False, verbose_name=_("Work"), exclude_from_export=True)

    caption = _("Calibrations due, the most urgent first")

    class Meta:
        empty_text = _("Nothing matches. Take a filter away, or give tags a calibration interval.")
        sequence = ("tag", "standing", "due", "last", "result", "interval", "criticality", "loop", "area", "record")

    def __init__(self, rows: TagQuerySet, *, today: date, may_record: bool):
        super().__init__(rows, exclude=() if may_record else ("record",))
        self.today = today

    def render_standing(self, record: Tag) -> str:
        if record.calibration_due_on is None:
            return _mark(Severity.WARNING, "Never calibrated")
        days = (record.calibration_due_on - self.today).days
        if days < 0:
            return _mark(Severity.WARNING, f"Overdue by {-days} day{'s' if days < -1 else ''}")
        return f"in {days} day{'s' if days != 1 else ''}" if days else "today"

    def value_standing(self, record: Tag) -> str:
        return strip_tags(self.render_standing(record))

    def render_due(self, value: date) -> str:
        return localdate(value)

    def render_last(self, value: date, record: Tag) -> str:
        return format_html(
            '<a href="{}">{}</a>', reverse("calibrations:detail", args=[record.last_pk]), localdate(value)
        )

    def render_record(self, value: str) -> str:
        return format_html(
            '<a href="{}">Record<span class="visually-hidden"> a calibration of {}</span></a>',
            reverse("calibrations:record", args=[value]),
            value,
        )


def _mark(severity: str, word: str) -> str:
    return format_html(
        '<span class="severity severity-{0}"><svg class="mark" aria-hidden="true"><use href="#mark-{0}"/></svg>'
        "{1}</span>",
        severity,
        word,
    )
