from __future__ import annotations

import django_filters
from django import forms

from register.models import Asset
from register.plant.words import AssetState, ModelKind
from register.web.loops.filters import choices


class AssetFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label="Search",
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Serial, code or model"}),
    )
    state = django_filters.ChoiceFilter(choices=choices(AssetState), label="State", empty_label="Any state")
    kind = django_filters.ChoiceFilter(
        field_name="model__kind", choices=choices(ModelKind), label="Kind", empty_label="All kinds"
    )

    class Meta:
        model = Asset
        fields = ("q", "state", "kind")

    def search(self, queryset, name, words):
        return queryset.matching(words)
