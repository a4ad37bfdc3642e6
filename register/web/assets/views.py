from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django_tables2 import RequestConfig

from register.models import Asset
from register.models.reach import when_asset_fails
from register.plant.words import ModelKind
from register.services.permissions import May
from register.web.assets.filters import AssetFilter
from register.web.assets.tables import AssetTable, BayTable, CalibrationTable, ControllerTable, PlaceTable
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """Every asset that the plant has or had, narrowed by the filters."""
    chosen = AssetFilter(request.GET, queryset=Asset.objects.with_place())
    table = AssetTable(chosen.qs)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "assets/list.html", {"filter": chosen, "table": table})


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
