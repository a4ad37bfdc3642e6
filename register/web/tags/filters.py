from __future__ import annotations

import django_filters
from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import Area, Tag
from register.plant.words import Location, Role
from register.web.loops.filters import choices


class TagFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label=_("Search"),
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Tag, serial, service"}),
    )
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="in_area", label=_("Area"), empty_label=_("All areas")
    )
    role = django_filters.ChoiceFilter(choices=choices(Role), label=_("Role"), empty_label=_("All roles"))
    location = django_filters.ChoiceFilter(
        choices=choices(Location), label=_("Location"), empty_label=_("All locations")
    )

    class Meta:
        model = Tag
        fields = ("q", "area", "role", "location")

    def search(self, queryset, name, words):
        return queryset.matching(words)

    def in_area(self, queryset, name, area):
        return queryset.filter(loop__area__in=Area.objects.within(area))
