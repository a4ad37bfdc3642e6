from __future__ import annotations

import django_filters
from django import forms
from django.db.models import QuerySet

from register.models import Area, CatalogueModel, Loop
from register.plant.words import Criticality, ModelKind
from register.web.loops.filters import choices


class SparesFilter(django_filters.FilterSet):
    """Area and criticality narrow what counts as installed; the store serves the whole plant."""

    q = django_filters.CharFilter(
        label="Search", widget=forms.TextInput(attrs={"type": "search", "placeholder": "Model, maker or order code"})
    )
    area = django_filters.ModelChoiceFilter(queryset=Area.objects.all(), label="Area", empty_label="All areas")
    criticality = django_filters.ChoiceFilter(
        choices=choices(Criticality), label="Criticality", empty_label="Any criticality"
    )
    kind = django_filters.ChoiceFilter(choices=choices(ModelKind), label="Kind", empty_label="All kinds")
    stock = django_filters.ChoiceFilter(
        choices=[("short", "below the minimum"), ("none", "none in store"), ("obsolete", "obsolete models")],
        label="Stock",
        empty_label="Any stock",
    )

    class Meta:
        model = CatalogueModel
        fields = ("q", "area", "criticality", "kind", "stock")

    def filter_queryset(self, queryset: QuerySet) -> QuerySet:
        chosen = {name: value for name, value in self.form.cleaned_data.items() if value}
        spares = queryset.as_spares(_loops(chosen)).matching(chosen.get("q", ""))
        if "kind" in chosen:
            spares = spares.filter(kind=chosen["kind"])
        return spares.filter(**STOCK.get(chosen.get("stock"), {})).order_by("-short", "maker", "name")


STOCK = {"short": {"short__gt": 0}, "none": {"in_store": 0}, "obsolete": {"obsolete": True}}


def _loops(chosen: dict) -> QuerySet[Loop] | None:
    """The loops whose parts count; None: all of them."""
    if not {"area", "criticality"} & chosen.keys():
        return None
    loops = Loop.objects.in_service()
    if "area" in chosen:
        loops = loops.in_area(chosen["area"])
    if "criticality" in chosen:
        loops = loops.filter(criticality=chosen["criticality"])
    return loops
