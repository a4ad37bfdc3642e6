from __future__ import annotations

import django_filters
from django import forms

from register.models import BoardFamily, CatalogueModel
from register.plant.words import ModelKind
from register.web.loops.filters import choices


def makers() -> list[tuple[str, str]]:
    names = CatalogueModel.objects.order_by("maker").values_list("maker", flat=True).distinct()
    return [(name, name) for name in names]


class CatalogueFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label="Search",
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Model, maker or order code"}),
    )
    maker = django_filters.ChoiceFilter(choices=makers, label="Maker", empty_label="All makers")
    kind = django_filters.ChoiceFilter(choices=choices(ModelKind), label="Kind", empty_label="All kinds")
    family = django_filters.ModelChoiceFilter(
        queryset=BoardFamily.objects.all(), label="Board family", empty_label="All families"
    )
    obsolete = django_filters.ChoiceFilter(
        choices=[("True", "obsolete"), ("False", "still made")], label="Made", empty_label="Either"
    )

    class Meta:
        model = CatalogueModel
        fields = ("q", "maker", "kind", "family", "obsolete")

    def search(self, queryset, name, words):
        return queryset.matching(words)
