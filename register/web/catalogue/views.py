"""The catalogue: its list, a model's page, and a form for each part of a model that can be changed."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

from django.forms import BaseFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from register.loading import load_models
from register.models import Bay, BoardFamily, CatalogueModel, ModelPort, PlantSettings, Tag
from register.services import catalogue
from register.services.permissions import May, may
from register.web.catalogue import forms, tables
from register.web.catalogue.facts import grouped_facts
from register.web.catalogue.filters import CatalogueFilter
from register.web.changes import ChangeForm, change
from register.web.parts.lists import answer_list
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """Every model that the plant knows, narrowed by the filters."""
    models = CatalogueModel.objects.with_counts().select_related("family", "successor")
    chosen = CatalogueFilter(request.GET, queryset=models)
    table = tables.CatalogueTable(chosen.qs)
    return answer_list(
        request,
        "catalogue/list.html",
        table,
        name="catalogue",
        chosen=chosen,
        context=lambda: {"totals": chosen.qs.totals(), "currency": plant_currency()},
    )


def plant_currency() -> str:
    return PlantSettings.objects.values_list("currency", flat=True).first() or ""


@permitted(May.READ)
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One model: its data sheet, ports and bays, where the plant uses it, and who changed its entry."""
    row = get_object_or_404(CatalogueModel.objects.with_counts().select_related("family", "successor"), pk=pk)
    model = load_models([pk])[pk]
    uses = tables.UseTable(Tag.objects.in_service().that_use(row))
    revisions = tables.ModelRevisionTable(row.revisions.select_related("by"), prefix="revisions-")
    for table in (uses, revisions):
        RequestConfig(request, paginate={"per_page": 50}).configure(table)
    edits = may(request.user, May.EDIT_REGISTER)
    pks = {(port.name, port.direction): port.pk for port in row.ports.all()} if edits else {}
    bays = {bay.name: bay.pk for bay in row.bays.all()} if edits else {}
    context = {
        "row": row,
        "groups": list(grouped_facts(row, model, plant_currency())),
        "ports": tables.PortTable(model.ports, row, pks),
        "bays": tables.BayTable(model.bays, row, bays),
        "uses": uses,
        "stock_lines": row.stock_lines.all(),
        "predecessors": row.predecessors.all(),
        "revisions": revisions,
    }
    return render(request, "catalogue/detail.html", context)


@permitted(May.EDIT_REGISTER)
def create(request: HttpRequest) -> HttpResponse:
    """A new model, from nothing or as a copy of another with its ports and bays."""
    asked = request.GET.get("copy", "")
    original = get_object_or_404(CatalogueModel, pk=asked) if asked.isdecimal() else None
    blank = copy(original) if original else CatalogueModel()
    blank.pk, blank._state.adding = None, True
    blank.revision, blank.obsolete, blank.successor = 0, False, None
    form = forms.NewModelForm(request.POST or None, instance=blank)
    made: list[CatalogueModel] = []

    def write() -> None:
        made[:] = [
            catalogue.add_model(form.facts, copy_of=original, by=request.user, reason=form.cleaned_data["reason"])
        ]

    return change(
        request,
        form,
        write,
        loop=None,
        done=lambda: reverse("catalogue:detail", args=[made[0].pk]),
        back=reverse("catalogue:detail", args=[original.pk]) if original else reverse("catalogue:list"),
        said=_("The model was added. Check its ports and bays next.")
        if original
        else _("The model was added. Add its ports next."),
        title=_("New model as a copy of %(original)s") % {"original": original} if original else _("New model"),
        template="catalogue/change.html",
        original=original,
    )


def _of_model(
    request: HttpRequest,
    model: CatalogueModel,
    form: ChangeForm,
    write: Callable[[], object],
    *,
    title: str,
    said: str,
    formset: BaseFormSet | None = None,
) -> HttpResponse:
    """Answer a form about a part of a model; when done, back to the model's page."""
    back = reverse("catalogue:detail", args=[model.pk])
    return change(
        request,
        form,
        write,
        loop=None,
        done=lambda: back,
        back=back,
        said=_("%(said)s The loops that use it were checked again.") % {"said": said},
        title=title,
        template="catalogue/change.html",
        formset=formset,
        row_name="Signal",
        model=model,
        loops_count=len(catalogue.loops_using([model])),
    )


def _opened(model: CatalogueModel) -> dict[str, int]:
    return {"seen_revision": model.revision}


@permitted(May.EDIT_REGISTER)
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct a model's data sheet; every loop that uses it is recorded and checked again."""
    stored = get_object_or_404(CatalogueModel, pk=pk)
    form = forms.CatalogueModelForm(request.POST or None, instance=copy(stored), initial=_opened(stored))

    def write() -> None:
        catalogue.correct_model(stored, form.facts, by=request.user, **form.signature)

    return _of_model(
        request,
        stored,
        form,
        write,
        title=_("Correct %(stored)s") % {"stored": stored},
        said=_("%(stored)s was corrected.") % {"stored": stored},
    )


@permitted(May.EDIT_REGISTER)
def port(request: HttpRequest, pk: int, port: int | None = None) -> HttpResponse:
    """Add an input or output to a model, or correct one."""
    model = get_object_or_404(CatalogueModel, pk=pk)
    stored = get_object_or_404(ModelPort, model=model, pk=port) if port else ModelPort(model=model)
    form = forms.ModelPortForm(request.POST or None, instance=copy(stored), initial=_opened(model))
    rows = forms.ModelSignalFormSet(request.POST or None, queryset=forms.signals_of(stored), prefix="signals")

    def write() -> None:
        catalogue.save_model_port(stored, form.facts, forms.kept(rows), by=request.user, **form.signature)

    title = (
        _("Correct port %(stored)s of %(model)s") % {"stored": stored, "model": model}
        if port
        else _("New port of %(model)s") % {"model": model}
    )
    said = _("The port was %(added)s.") % {"added": "corrected" if port else "added"}
    return _of_model(request, model, form, write, title=title, said=said, formset=rows)


@permitted(May.EDIT_REGISTER)
def port_remove(request: HttpRequest, pk: int, port: int) -> HttpResponse:
    model = get_object_or_404(CatalogueModel, pk=pk)
    stored = get_object_or_404(ModelPort, model=model, pk=port)
    form = forms.RemoveForm(request.POST or None, initial=_opened(model))

    def write() -> None:
        catalogue.remove_model_port(stored, by=request.user, **form.signature)

    title = _("Remove port %(stored)s of %(model)s") % {"stored": stored, "model": model}
    return _of_model(request, model, form, write, title=title, said=_("The port was removed."))


@permitted(May.EDIT_REGISTER)
def bay(request: HttpRequest, pk: int, bay: int | None = None) -> HttpResponse:
    """Add a bay to a model, or correct one and the board families that it takes."""
    model = get_object_or_404(CatalogueModel, pk=pk)
    stored = get_object_or_404(Bay, model=model, pk=bay) if bay else Bay(model=model)
    form = forms.BayForm(request.POST or None, instance=copy(stored), initial=_opened(model))

    def write() -> None:
        catalogue.save_bay(stored, **form.facts, by=request.user, **form.signature)

    title = (
        _("Correct bay %(stored)s of %(model)s") % {"stored": stored, "model": model}
        if bay
        else _("New bay of %(model)s") % {"model": model}
    )
    said = _("The bay was %(added)s.") % {"added": "corrected" if bay else "added"}
    return _of_model(request, model, form, write, title=title, said=said)


@permitted(May.EDIT_REGISTER)
def bay_remove(request: HttpRequest, pk: int, bay: int) -> HttpResponse:
    model = get_object_or_404(CatalogueModel, pk=pk)
    stored = get_object_or_404(Bay, model=model, pk=bay)
    form = forms.RemoveForm(request.POST or None, initial=_opened(model))

    def write() -> None:
        catalogue.remove_bay(stored, by=request.user, **form.signature)

    title = _("Remove bay %(stored)s of %(model)s") % {"stored": stored, "model": model}
    return _of_model(request, model, form, write, title=title, said=_("The bay was removed."))


@permitted(May.READ)
def families(request: HttpRequest) -> HttpResponse:
    """The board families: which boards belong to each and how many models have a bay for it."""
    table = tables.FamilyTable(BoardFamily.objects.with_counts(), may(request.user, May.EDIT_REGISTER))
    return answer_list(request, "catalogue/families.html", table, name="board families")


@permitted(May.EDIT_REGISTER)
def family(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Add a board family, or correct one."""
    stored = get_object_or_404(BoardFamily, pk=pk) if pk else BoardFamily()
    form = forms.FamilyForm(request.POST or None, instance=copy(stored))

    def write() -> None:
        catalogue.save_family(stored, form.facts, by=request.user, reason=form.cleaned_data["reason"])

    back = reverse("catalogue:families")
    return change(
        request,
        form,
        write,
        loop=None,
        done=lambda: back,
        back=back,
        said=_("The board family was corrected.") if pk else _("The board family was added."),
        title=_("Correct board family %(stored)s") % {"stored": stored} if pk else _("New board family"),
    )
