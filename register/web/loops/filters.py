from __future__ import annotations

import django_filters
from django import forms
from django.utils.translation import gettext_lazy
from django.utils.translation import gettext_lazy as _

from register.models import Area, Loop
from register.plant.words import Criticality, LoopKind, Severity


def choices(words) -> list[tuple[str, str]]:
    return [(word.value, gettext_lazy(word.value)) for word in words]


class LoopFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label=_("Search"),
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Tag, serial, service"}),
    )
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="in_area", label=_("Area"), empty_label=_("All areas")
    )
    kind = django_filters.ChoiceFilter(choices=choices(LoopKind), label=_("Kind"), empty_label=_("All kinds"))
    criticality = django_filters.ChoiceFilter(
        choices=choices(Criticality), label=_("Criticality"), empty_label=_("Any criticality")
    )
    severity = django_filters.ChoiceFilter(
        choices=choices(Severity),
        method="with_severity",
        label=_("With an open"),
        empty_label=_("With or without findings"),
    )

    class Meta:
        model = Loop
        fields = ("q", "area", "kind", "criticality", "severity")

    def search(self, queryset, name, words):
        return queryset.matching(words)

    def in_area(self, queryset, name, area):
        return queryset.in_area(area)

    def with_severity(self, queryset, name, severity):
        return queryset.with_severity(severity)
