from __future__ import annotations

import django_filters
from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import BoardFamily, CatalogueModel
from register.plant.words import ModelKind
from register.web.loops.filters import choices


def makers() -> list[tuple[str, str]]:
    names = CatalogueModel.objects.order_by("maker").values_list("maker", flat=True).distinct()
    return [(name, name) for name in names]


class CatalogueFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label=_("Search"),
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Model, maker or order code"}),
    )
    maker = django_filters.ChoiceFilter(choices=makers, label=_("Maker"), empty_label=_("All makers"))
    kind = django_filters.ChoiceFilter(choices=choices(ModelKind), label=_("Kind"), empty_label=_("All kinds"))
    family = django_filters.ModelChoiceFilter(
        queryset=BoardFamily.objects.all(), label=_("Board family"), empty_label=_("All families")
    )
    obsolete = django_filters.ChoiceFilter(
        choices=[("True", "obsolete"), ("False", "still made")], label=_("Made"), empty_label=_("Either")
    )

    installed = django_filters.ChoiceFilter(
        choices=[("some", _("installed")), ("none", _("not installed"))],
        method="some_or_none",
        label=_("Installed"),
        empty_label=_("Either"),
    )
    in_store = django_filters.ChoiceFilter(
        choices=[("some", _("in store")), ("none", _("none in store"))],
        method="some_or_none",
        label=_("In store"),
        empty_label=_("Either"),
    )

    class Meta:
        model = CatalogueModel
        fields = ("q", "maker", "kind", "family", "obsolete", "installed", "in_store")

    def some_or_none(self, queryset, name, value):
        return queryset.filter(**{name: 0} if value == "none" else {f"{name}__gt": 0})

    def search(self, queryset, name, words):
        return queryset.matching(words)
