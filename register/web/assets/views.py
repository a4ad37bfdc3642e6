from __future__ import annotations

from collections.abc import Callable
from copy import copy

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from register.models import Asset
from register.models.reach import when_asset_fails
from register.plant.words import ModelKind
from register.services.assets import add_asset, correct_asset
from register.services.permissions import May, may
from register.web.assets.filters import AssetFilter
from register.web.assets.forms import AssetForm
from register.web.assets.tables import AssetTable, BayTable, CalibrationTable, ControllerTable, PlaceTable
from register.web.changes import change
from register.web.parts.lists import answer_list
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """Every asset that the plant has or had, narrowed by the filters."""
    chosen = AssetFilter(request.GET, queryset=Asset.objects.with_place())
    table = AssetTable(chosen.qs, exclude=() if may(request.user, May.EDIT_REGISTER) else ("pick",))
    return answer_list(
        request,
        "assets/list.html",
        table,
        name="assets",
        chosen=chosen,
        context=lambda: {"states": chosen.qs.count_by_state()},
    )


@permitted(May.READ)
def detail(request: HttpRequest, code: str) -> HttpResponse:
    """One asset: what it is, where it stands and stood, its boards, its calibrations and what stops without it."""
    asset = get_object_or_404(Asset.objects.with_place(), code=code)
    is_board = asset.model.kind == ModelKind.OPTION_BOARD
    fitted_in = asset.fitted_in.order_by("-from_date", "-pk").select_related("controller__model")
    installations = asset.installations.select_related("tag__loop")
    boards = asset.board_fittings.order_by("bay", "-from_date", "-pk").select_related("model", "board")
    calibrations = asset.calibrations.select_related("tag")
    context = {
        "asset": asset,
        "places": ControllerTable(list(fitted_in)) if is_board else PlaceTable(list(installations)),
        "boards": BayTable(list(boards)) if asset.model.kind == ModelKind.CONTROLLER else None,
        "calibrations": None if is_board else CalibrationTable(list(calibrations)),
        "reached": when_asset_fails(asset),
    }
    return render(request, "assets/detail.html", context)


def _answer(
    request: HttpRequest, form: AssetForm, write: Callable[[], object], *, title: str, said: str, back: str
) -> HttpResponse:
    def done() -> str:
        return reverse("assets:detail", args=[form.cleaned_data["code"]])

    return change(request, form, write, loop=None, done=done, back=back, said=said, title=title)


@permitted(May.EDIT_REGISTER)
def create(request: HttpRequest) -> HttpResponse:
    """Record an item that arrived."""
    form = AssetForm(request.POST or None)

    def write() -> None:
        add_asset(form.facts, by=request.user, reason=form.cleaned_data["reason"])

    return _answer(
        request, form, write, title=_("New asset"), said=_("The asset was added."), back=reverse("assets:list")
    )


@permitted(May.EDIT_REGISTER)
def edit(request: HttpRequest, code: str) -> HttpResponse:
    """Correct the record of an item."""
    stored = get_object_or_404(Asset, code=code)
    form = AssetForm(request.POST or None, instance=copy(stored))

    def write() -> None:
        correct_asset(stored, form.facts, by=request.user, reason=form.cleaned_data["reason"])

    back = reverse("assets:detail", args=[code])
    return _answer(
        request,
        form,
        write,
        title=_("Correct %(code)s") % {"code": code},
        said=_("%(code)s was corrected.") % {"code": code},
        back=back,
    )
