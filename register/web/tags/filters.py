from __future__ import annotations

import django_filters
from django import forms

from register.models import Area, Tag
from register.plant.words import Location, Role
from register.web.loops.filters import choices


class TagFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label="Search",
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Tag, serial, service"}),
    )
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="in_area", label="Area", empty_label="All areas"
    )
    role = django_filters.ChoiceFilter(choices=choices(Role), label="Role", empty_label="All roles")
    location = django_filters.ChoiceFilter(choices=choices(Location), label="Location", empty_label="All locations")

    class Meta:
        model = Tag
        fields = ("q", "area", "role", "location")

    def search(self, queryset, name, words):
        return queryset.matching(words)

    def in_area(self, queryset, name, area):
        return queryset.filter(loop__area__in=Area.objects.within(area))
