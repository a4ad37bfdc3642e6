from __future__ import annotations

import django_filters
from django import forms
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from register.models import Area, Asset, CatalogueModel, Tag
from register.plant.words import AssetState, ModelKind
from register.web.loops.filters import choices


class AssetFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label=_("Search"),
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Serial, code or model"}),
    )
    state = django_filters.ChoiceFilter(choices=choices(AssetState), label=_("State"), empty_label=_("Any state"))
    kind = django_filters.ChoiceFilter(
        field_name="model__kind", choices=choices(ModelKind), label=_("Kind"), empty_label=_("All kinds")
    )

    model = django_filters.ModelChoiceFilter(
        queryset=CatalogueModel.objects.all(), label=_("Model"), empty_label=_("All models")
    )
    tag = django_filters.CharFilter(field_name="tag_name", lookup_expr="icontains", label=_("At a tag"))
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="in_area", label=_("Stands in"), empty_label=_("All areas")
    )
    place = django_filters.CharFilter(method="at_place", label=_("Place"))

    class Meta:
        model = Asset
        fields = ("q", "state", "kind", "model", "tag", "area", "place")

    def in_area(self, queryset, name, area):
        return queryset.filter(tag_name__in=Tag.objects.filter(loop__area__in=Area.objects.within(area)).values("name"))

    def at_place(self, queryset, name, words):
        return queryset.filter(Q(store_place__icontains=words) | Q(controller_code__icontains=words))

    def search(self, queryset, name, words):
        return queryset.matching(words)
