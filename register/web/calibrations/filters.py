from __future__ import annotations

from datetime import date, timedelta

import django_filters
from django import forms

from register.models import Area, Tag
from register.models.calibrations import Due, due_list
from register.plant.words import Criticality
from register.web.loops.filters import choices

SOON = timedelta(days=30)
STANDING = [("overdue", "overdue"), ("soon", "due within 30 days"), ("never", "never calibrated")]


class DueFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label="Search",
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Tag, serial, service"}),
    )
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="in_area", label="Area", empty_label="All areas"
    )
    criticality = django_filters.ChoiceFilter(
        field_name="loop__criticality", choices=choices(Criticality), label="Criticality", empty_label="Any criticality"
    )
    due_by = django_filters.DateFilter(method="later", label="Due by", widget=forms.DateInput(attrs={"type": "date"}))
    standing = django_filters.ChoiceFilter(method="later", choices=STANDING, label="Standing", empty_label="All")

    class Meta:
        model = Tag
        fields = ("q", "area", "criticality", "due_by", "standing")

    def search(self, queryset, name, words):
        return queryset.matching(words)

    def in_area(self, queryset, name, area):
        return queryset.filter(loop__area__in=Area.objects.within(area))

    def later(self, queryset, name, value):
        """The due date is no column: `due` looks at it."""
        return queryset

    def due(self, today: date) -> list[Due]:
        """What is due, as chosen, the most urgent first."""
        rows = due_list(self.qs)
        by, standing = (self.form.cleaned_data.get(name) for name in ("due_by", "standing"))
        if by:
            rows = [one for one in rows if one.due is None or one.due <= by]
        if standing == "never":
            rows = [one for one in rows if one.due is None]
        elif standing == "overdue":
            rows = [one for one in rows if one.overdue(today)]
        elif standing == "soon":
            rows = [one for one in rows if one.due and today <= one.due <= today + SOON]
        return rows
