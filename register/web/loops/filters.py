from __future__ import annotations

import django_filters
from django import forms

from register.models import Area, Loop
from register.plant.words import Criticality, LoopKind, Severity


def choices(words) -> list[tuple[str, str]]:
    return [(word.value, word.value) for word in words]


class LoopFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label="Search",
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Tag, serial, service"}),
    )
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="in_area", label="Area", empty_label="All areas"
    )
    kind = django_filters.ChoiceFilter(choices=choices(LoopKind), label="Kind", empty_label="All kinds")
    criticality = django_filters.ChoiceFilter(
        choices=choices(Criticality), label="Criticality", empty_label="Any criticality"
    )
    severity = django_filters.ChoiceFilter(
        choices=choices(Severity), method="with_severity", label="With an open", empty_label="With or without findings"
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
