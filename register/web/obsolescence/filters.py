from __future__ import annotations

import django_filters
from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import Area, CatalogueModel, Loop
from register.plant.words import Criticality, ModelKind
from register.web.loops.filters import choices


class ObsolescenceFilter(django_filters.FilterSet):
    """Area and criticality narrow the loops that count; the store serves the whole plant."""

    q = django_filters.CharFilter(
        method="search",
        label=_("Search"),
        widget=forms.TextInput(attrs={"type": "search", "placeholder": _("Model, maker or order code")}),
    )
    kind = django_filters.ChoiceFilter(choices=choices(ModelKind), label=_("Kind"), empty_label=_("All kinds"))
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="loops_narrow", label=_("Area"), empty_label=_("All areas")
    )
    criticality = django_filters.ChoiceFilter(
        choices=choices(Criticality), method="loops_narrow", label=_("Criticality"), empty_label=_("Any criticality")
    )
    spares = django_filters.ChoiceFilter(
        choices=[("none", _("none left")), ("some", _("some left"))],
        method="with_spares",
        label=_("Spares"),
        empty_label=_("Any"),
    )
    successor = django_filters.ChoiceFilter(
        choices=[("none", _("none recorded")), ("some", _("recorded"))],
        method="with_successor",
        label=_("Successor"),
        empty_label=_("Any"),
    )

    class Meta:
        model = CatalogueModel
        fields = ("q", "kind", "area", "criticality", "spares", "successor")

    def search(self, queryset, name, words):
        return queryset.matching(words)

    def loops_narrow(self, queryset, name, value):
        return queryset

    def with_spares(self, queryset, name, value):
        return queryset.filter(in_store=0) if value == "none" else queryset.filter(in_store__gt=0)

    def with_successor(self, queryset, name, value):
        return queryset.filter(successor__isnull=value == "none")

    @property
    def loops(self):
        """The loops in service that count."""
        chosen = self.form.cleaned_data if self.form.is_valid() else {}
        loops = Loop.objects.in_service()
        if chosen.get("area"):
            loops = loops.in_area(chosen["area"])
        if chosen.get("criticality"):
            loops = loops.filter(criticality=chosen["criticality"])
        return loops
