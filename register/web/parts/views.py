"""The living page of parts: everything that pages are made of, shown once, for those who build and check them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import django_tables2 as tables
from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _

from register.plant.words import Severity
from register.services.permissions import May
from register.web.parts.charts import Series, bar_chart, line_chart
from register.web.parts.marks import UNKNOWN, severity_counts
from register.web.parts.words import localdate
from register.web.permissions import permitted

EXAMPLES = [
    ("TIC-1203", "Kiln air-on temperature", "0", "150", "CEL", {Severity.ERROR: 1, Severity.WARNING: 2}),
    ("LIC-1101", "Steep vessel 1 level", "0", "4.50", "MTR", {}),
    ("PT-2107", "Boiler steam pressure", "0", "16.0", "BAR", {Severity.ADVICE: 1}),
    ("AT-4002", "Effluent pH", None, None, "", {UNKNOWN: 3}),
]


class ExampleTable(tables.Table):
    tag = tables.Column(linkify=lambda: "#tables", attrs={"td": {"class": "nowrap"}})
    service = tables.Column()
    low = tables.Column(attrs={"td": {"class": "num"}})
    high = tables.Column(attrs={"td": {"class": "num"}})
    unit = tables.Column()
    calibrated = tables.Column()
    findings = tables.Column(orderable=False)

    caption = _("Tags of the example")

    def render_calibrated(self, value):
        return localdate(value)

    def render_findings(self, value):
        return severity_counts(value)


class ExampleForm(forms.Form):
    tag = forms.CharField(help_text=_("As it stands on the loop sheet."))
    signal = forms.ChoiceField(choices=[("", "Choose"), ("4-20 mA", "4–20 mA"), ("0-10 V", "0–10 V")])
    low = forms.DecimalField(help_text=_("The value at the lowest signal."))
    dead_band = forms.DecimalField(min_value=0, required=False)
    decimals = forms.IntegerField(min_value=0, max_value=4)
    on = forms.DateField(label=_("Calibrated on"), widget=forms.DateInput(attrs={"type": "date"}))
    reason = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 3}), help_text=_("It stands in the history for ever.")
    )
    result = forms.ChoiceField(choices=[("pass", "Pass"), ("fail", "Fail")], widget=forms.RadioSelect)
    isolated = forms.BooleanField(required=False, label=_("The output is isolated from earth"))
    sheet = forms.FileField(required=False, label=_("Maker's data sheet"))

    field_order = ["tag", "signal", "low", "dead_band", "decimals", "on", "reason", "sheet", "result", "isolated"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["low"].unit = self.fields["dead_band"].unit = "°C"


@permitted(May.ADMINISTER)
def parts(request: HttpRequest) -> HttpResponse:
    """With ?wrong the form shows its errors."""
    calibrated = date(2026, 3, 4)
    rows = [
        {
            "tag": tag,
            "service": service,
            "low": low and Decimal(low),
            "high": high and Decimal(high),
            "unit": unit,
            "calibrated": calibrated if low else None,
            "findings": counts,
        }
        for tag, service, low, high, unit, counts in EXAMPLES
    ]
    table = ExampleTable(rows, order_by=request.GET.get("sort", "tag"), request=request)
    table.paginate(page=1, per_page=3)
    wrong = {"low": "warm", "decimals": "9", "dead_band": "-1", "tag": "TIC-1203"} if "wrong" in request.GET else None
    areas = ["Steeping", "Germination", "Kilning", "Boiler house", "Effluent"]
    findings = [
        Series("Errors", (2, 0, 5, 1, 0), Severity.ERROR),
        Series("Warnings", (3, 4, 2, 1, 1), Severity.WARNING),
        Series("Advice", (1, 2, 2, 0, 3), Severity.ADVICE),
        Series("Cannot tell", (0, 1, 1, 2, 0), UNKNOWN),
    ]
    months = ["Oct", "Nov", "Dec", "Jan", "Feb", "Mar"]
    trend = [
        Series("Errors", (14, 13, 13, 9, None, 8), Severity.ERROR),
        Series("Warnings", (17, 17, 15, 16, None, 11), Severity.WARNING),
        Series("Advice", (6, 6, 7, 7, None, 8), Severity.ADVICE),
    ]
    context = {
        "trail": [("Loops", "#"), ("TIC-1203", "#")],
        "severities": [*Severity, UNKNOWN],
        "counts": {Severity.ERROR: 2, Severity.WARNING: 11, Severity.ADVICE: 3, UNKNOWN: 1},
        "tabs": [("As it stands", "#tabs", True), ("Revisions", "#tabs", False), ("Calibrations", "#tabs", False)],
        "facts": [
            ("Role", "controller"),
            ("Range", "0–150 °C"),
            ("Serial number", "LK-88213"),
            ("Depth behind panel", ""),
            ("Service", "Kiln air-on temperature, second deck"),
        ],
        "table": table,
        "no_rows": ExampleTable(
            [], empty_text=_("No tag matches. Take a filter away, or search for another part of it.")
        ),
        "form": ExampleForm(wrong),
        "bars": bar_chart("Open findings by area", areas, findings, heading=_("Area")),
        "line": line_chart("Open findings by month", months, trend, heading=_("Month")),
        "low": Decimal("-12.50"),
        "calibrated": calibrated,
    }
    return render(request, "parts/parts.html", context)
