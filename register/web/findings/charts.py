"""Findings as pictures: where they lie, and how their number went."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from register.models import Finding
from register.models.records import FindingQuerySet
from register.plant.words import Severity
from register.web.parts.charts import BarChart, LineChart, Series, bar_chart, line_chart
from register.web.parts.marks import WORDS

WEEKS = 12


def by_area(findings: FindingQuerySet) -> BarChart | None:
    """A bar for each area, of its errors, warnings and pieces of advice; None where there is nothing to draw."""
    counts = findings.count_by_area()
    if not counts:
        return None
    series = [Series(WORDS[word], [of_area.get(word, 0) for of_area in counts.values()], word) for word in Severity]
    return bar_chart(_("Findings by area"), list(counts), series, heading=_("Area"))


def by_week(until: datetime) -> LineChart | None:
    """A line for each severity over the last weeks; None where there was never anything to draw."""
    weeks = Finding.objects.filter(unknown=False).open_each_week(until, WEEKS)
    if not any(count for _moment, counts in weeks for count in counts.values()):
        return None
    labels = [date_format(timezone.localdate(moment), "SHORT_DATE_FORMAT") for moment, _counts in weeks]
    series = [Series(WORDS[word], [counts[word] for _moment, counts in weeks], word) for word in Severity]
    return line_chart(_("Open findings, week by week"), labels, series, heading=_("At"))
