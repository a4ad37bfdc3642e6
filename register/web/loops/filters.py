from __future__ import annotations

import django_filters
from django import forms
from django.utils.translation import gettext_lazy
from django.utils.translation import gettext_lazy as _

from register.models import Area, Loop
from register.models.loops import NO_FINDING, WORST
from register.plant.words import Criticality, LoopKind
from register.web.parts.marks import WORDS


def choices(words) -> list[tuple[str, str]]:
    return [(word.value, gettext_lazy(word.value)) for word in words]


WORST_CHOICES = [*((word, WORDS[word]) for word in WORST.values()), (NO_FINDING, _("None"))]


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
        choices=WORST_CHOICES,
        method="with_worst",
        label=_("Worst open finding"),
        empty_label=_("With or without findings"),
    )

    class Meta:
        model = Loop
        fields = ("q", "area", "kind", "criticality", "severity")

    def search(self, queryset, name, words):
        return queryset.matching(words)

    def in_area(self, queryset, name, area):
        return queryset.in_area(area)

    def with_worst(self, queryset, name, word):
        return queryset.with_worst(word)
