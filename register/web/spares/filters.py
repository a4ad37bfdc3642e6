from __future__ import annotations

from collections.abc import Callable

import django_filters
from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from register.models import Area, CatalogueModel
from register.plant.words import Criticality, ModelKind
from register.services.spares import Store
from register.web.loops.filters import choices
from register.web.spares.rows import SpareRow

STOCK: dict[str, tuple[str, Callable[[SpareRow], bool]]] = {
    "short": (_("short"), lambda row: bool(row.short)),
    "surplus": (_("more than needed"), lambda row: bool(row.surplus)),
    "none": (_("none in store"), lambda row: not row.in_store),
    "overdue": (_("an order is overdue"), lambda row: bool(row.spare.overdue)),
    "obsolete": (_("obsolete models"), lambda row: row.model.obsolete),
    "unknown": (_("cannot be worked out"), lambda row: bool(row.missing)),
}
GROUPS: dict[str, tuple[str, Callable[[SpareRow], str]]] = {
    "maker": (_("maker"), lambda row: row.model.maker),
    "area": (_("area"), lambda row: row.main_area or str(_("installed nowhere"))),
    "lead": (
        _("lead time"),
        lambda row: str(_("not recorded")) if row.lead_time_days is None else _("%d days") % row.lead_time_days,
    ),
}


class SparesFilter(django_filters.FilterSet):
    """Area and criticality narrow what counts as installed; what is needed and the store serve the whole plant."""

    q = django_filters.CharFilter(
        label=_("Search"),
        widget=forms.TextInput(attrs={"type": "search", "placeholder": _("Model, maker or order code")}),
    )
    area = django_filters.ModelChoiceFilter(queryset=Area.objects.all(), label=_("Area"), empty_label=_("All areas"))
    criticality = django_filters.ChoiceFilter(
        choices=choices(Criticality), label=_("Criticality"), empty_label=_("Any criticality")
    )
    kind = django_filters.ChoiceFilter(choices=choices(ModelKind), label=_("Kind"), empty_label=_("All kinds"))
    stock = django_filters.ChoiceFilter(
        choices=[(key, words) for key, (words, _test) in STOCK.items()], label=_("Stock"), empty_label=_("Any stock")
    )
    by = django_filters.ChoiceFilter(
        choices=[(key, words) for key, (words, _group) in GROUPS.items()],
        label=_("Print by"),
        empty_label=_("no groups"),
    )

    class Meta:
        model = CatalogueModel
        fields = ("q", "area", "criticality", "kind", "stock", "by")

    def filter_queryset(self, queryset: QuerySet) -> QuerySet:
        found = queryset.matching(self._chosen("q") or "")
        return found.filter(kind=self._chosen("kind")) if self._chosen("kind") else found

    def _chosen(self, name: str):
        return self.form.cleaned_data.get(name)

    def rows(self, store: Store) -> list[SpareRow]:
        """What was chosen, what is short first."""
        wanted = set(self.qs.values_list("pk", flat=True))
        names = dict(Area.objects.values_list("pk", "path"))
        area, criticality = self._chosen("area"), self._chosen("criticality")
        within = set(Area.objects.within(area).values_list("pk", flat=True)) if area else names.keys()
        narrowed = bool(area or criticality)
        rows = []
        for pk, spare in store.spares.items():
            counted = {
                place: count
                for place, count in spare.places.items()
                if place[0] in within and criticality in (None, "", place[1])
            }
            row = SpareRow(spare, store.holding_of(pk), counted, names)
            if pk in wanted and (row.installed or (not narrowed and row.is_stocked)):
                rows.append(row)
        if self._chosen("stock"):
            rows = [row for row in rows if STOCK[self._chosen("stock")][1](row)]
        return sorted(rows, key=lambda row: (-(row.short or 0), row.model.maker, row.model.name))

    def grouped(self, rows: list[SpareRow]) -> list[tuple[str, list[SpareRow]]]:
        """The rows under the headings to print them by; one group without a heading where none were asked for."""
        if not self._chosen("by"):
            return [("", rows)]
        groups: dict[str, list[SpareRow]] = {}
        for row in sorted(rows, key=lambda row: (row.lead_time_days is None, row.lead_time_days or 0)):
            groups.setdefault(str(GROUPS[self._chosen("by")][1](row)), []).append(row)
        return list(groups.items()) if self._chosen("by") == "lead" else sorted(groups.items())
