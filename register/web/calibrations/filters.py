from __future__ import annotations

import django_filters
from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from register.models import Area, Tag
from register.plant.words import Criticality
from register.web.loops.filters import choices

STANDING = [("overdue", "overdue"), ("soon", "due within 30 days"), ("never", "never calibrated")]


class DueFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label=_("Search"),
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Tag, serial, service"}),
    )
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="in_area", label=_("Area"), empty_label=_("All areas")
    )
    criticality = django_filters.ChoiceFilter(
        field_name="loop__criticality",
        choices=choices(Criticality),
        label=_("Criticality"),
        empty_label=_("Any criticality"),
    )
    due_by = django_filters.DateFilter(
        method="until", label=_("Due by"), widget=forms.DateInput(attrs={"type": "date"})
    )
    standing = django_filters.ChoiceFilter(method="stand", choices=STANDING, label=_("Standing"), empty_label=_("All"))

    class Meta:
        model = Tag
        fields = ("q", "area", "criticality", "due_by", "standing")

    def search(self, queryset, name, words):
        return queryset.matching(words)

    def in_area(self, queryset, name, area):
        return queryset.filter(loop__area__in=Area.objects.within(area))

    def until(self, queryset, name, day):
        return queryset.due_by(day)

    def stand(self, queryset, name, how):
        today = timezone.localdate()
        if how == "never":
            return queryset.filter(calibration_due_on__isnull=True)
        if how == "overdue":
            return queryset.overdue(today)
        return queryset.due_soon(today)
