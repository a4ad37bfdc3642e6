from __future__ import annotations

from copy import copy

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django_tables2 import RequestConfig

from register.loading import load_models
from register.models import CatalogueModel, PlantSettings, Tag
from register.services.catalogue import correct_model
from register.services.permissions import May
from register.web.catalogue.facts import grouped_facts
from register.web.catalogue.filters import CatalogueFilter
from register.web.catalogue.forms import CatalogueModelForm
from register.web.catalogue.tables import BayTable, CatalogueTable, PortTable, UseTable
from register.web.changes import change
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """Every model that the plant knows, narrowed by the filters."""
    models = CatalogueModel.objects.with_counts().select_related("family", "successor")
    chosen = CatalogueFilter(request.GET, queryset=models)
    table = CatalogueTable(chosen.qs)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "catalogue/list.html", {"filter": chosen, "table": table})


@permitted(May.READ)
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One model: its data sheet, ports and bays, and where the plant uses it."""
    row = get_object_or_404(CatalogueModel.objects.with_counts().select_related("family", "successor"), pk=pk)
    model = load_models([pk])[pk]
    uses = UseTable(Tag.objects.in_service().that_use(row))
    RequestConfig(request, paginate={"per_page": 50}).configure(uses)
    currency = PlantSettings.objects.values_list("currency", flat=True).first() or ""
    context = {
        "row": row,
        "groups": list(grouped_facts(row, model, currency)),
        "ports": PortTable(model.ports),
        "bays": BayTable(model.bays) if model.bays else None,
        "uses": uses,
        "stock_lines": row.stock_lines.all(),
        "predecessors": row.predecessors.all(),
    }
    return render(request, "catalogue/detail.html", context)


@permitted(May.EDIT_REGISTER)
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct a model's data sheet; every loop that uses it is recorded and checked again."""
    stored = get_object_or_404(CatalogueModel, pk=pk)
    form = CatalogueModelForm(request.POST or None, instance=copy(stored))

    def write() -> None:
        correct_model(stored, form.facts, by=request.user, reason=form.cleaned_data["reason"])

    return change(
        request,
        form,
        write,
        loop=None,
        done=lambda: reverse("catalogue:detail", args=[pk]),
        back=reverse("catalogue:detail", args=[pk]),
        said=f"{stored} was corrected, and the loops that use it were checked again.",
        title=f"Correct {stored}",
    )
