"""What moves into and out of the store, what is ordered and what is kept back: the pages that write it."""

from __future__ import annotations

import django_filters
from django import forms as widgets
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from register.models import CatalogueModel, PlannedMovement, StockMovement
from register.plant.words import MovementKind, PlannedKind
from register.services import stock
from register.services.permissions import May
from register.web.changes import change
from register.web.loops.filters import choices
from register.web.parts.lists import answer_list
from register.web.permissions import permitted
from register.web.spares.forms import CloseForm, MovementForm, PlannedForm
from register.web.spares.tables import MovementTable

_DAY = widgets.DateInput(attrs={"type": "date"})


class MovementFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        method="search",
        label=gettext_lazy("Search"),
        widget=widgets.TextInput(attrs={"type": "search", "placeholder": gettext_lazy("Model, serial, reason")}),
    )
    kind = django_filters.ChoiceFilter(
        choices=choices(MovementKind), label=gettext_lazy("Movement"), empty_label=gettext_lazy("Any movement")
    )
    since = django_filters.DateFilter("on", "gte", label=gettext_lazy("From"), widget=_DAY)
    until = django_filters.DateFilter("on", "lte", label=gettext_lazy("To"), widget=_DAY)

    class Meta:
        model = StockMovement
        fields = ("q", "kind", "since", "until")

    def search(self, queryset, name, words):
        return queryset.matching(words)


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """Every movement of stock, the latest first."""
    moved = StockMovement.objects.select_related("line__model", "asset__model", "by")
    chosen = MovementFilter(request.GET, queryset=moved)
    table = MovementTable(chosen.qs)
    return answer_list(request, "spares/movements.html", table, name="movements of stock", chosen=chosen)


def _answer(request: HttpRequest, form, write, *, model: CatalogueModel, said: str, title: str) -> HttpResponse:
    back = reverse("spares:detail", args=[model.pk])
    return change(
        request,
        form,
        write,
        loop=None,
        done=lambda: back,
        back=back,
        said=said,
        title=title,
        template="spares/change.html",
        model=model,
    )


@permitted(May.EDIT_REGISTER)
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a movement of a model, or a count."""
    model = get_object_or_404(CatalogueModel, pk=pk)
    lines = list(model.stock_lines.all())
    initial = {"store_place": lines[0].store_place} if lines else {}
    form = MovementForm(request.POST or None, model=model, initial=initial)

    def write() -> None:
        stock.record_movement(model, by=request.user, **form.cleaned_data)

    return _answer(
        request,
        form,
        write,
        model=model,
        said=_("The movement of %(model)s is recorded.") % {"model": model},
        title=_("Movement of %(model)s") % {"model": model},
    )


@permitted(May.EDIT_REGISTER)
def plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Record an order or a reservation."""
    model = get_object_or_404(CatalogueModel, pk=pk)
    initial = {name: request.GET[name] for name in ("kind", "quantity") if name in request.GET}
    form = PlannedForm(request.POST or None, initial={"kind": PlannedKind.ON_ORDER} | initial)

    def write() -> None:
        stock.plan_movement(model, by=request.user, **form.cleaned_data)

    return _answer(
        request,
        form,
        write,
        model=model,
        said=_("It is recorded for %(model)s.") % {"model": model},
        title=_("Order or reserve %(model)s") % {"model": model},
    )


@permitted(May.EDIT_REGISTER)
def close_planned(request: HttpRequest, pk: int) -> HttpResponse:
    """Close an order or a reservation of which nothing more will move."""
    planned = get_object_or_404(PlannedMovement.objects.select_related("model"), pk=pk)
    form = CloseForm(request.POST or None)

    def write() -> None:
        stock.close_planned(planned, by=request.user, **form.cleaned_data)

    return _answer(
        request,
        form,
        write,
        model=planned.model,
        said=_("%(reference)s is closed.") % {"reference": planned.reference},
        title=_("Close %(reference)s") % {"reference": planned.reference},
    )
