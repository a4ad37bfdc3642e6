from __future__ import annotations

import django_filters
from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import Area, Loop

TURNS = [("draft", "to be drafted"), ("check", "to be checked"), ("approve", "to be approved")]


class WaitingFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label=_("Search"),
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Tag, service"}),
    )
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="in_area", label=_("Area"), empty_label=_("All areas")
    )
    turn = django_filters.ChoiceFilter(choices=TURNS, label=_("What is next"), empty_label=_("Anything"))

    class Meta:
        model = Loop
        fields = ("q", "area", "turn")

    def search(self, queryset, name, words):
        return queryset.matching(words)

    def in_area(self, queryset, name, area):
        return queryset.in_area(area)
