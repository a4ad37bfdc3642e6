"""What could replace an instrument or take a board."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from register.models import CatalogueModel, Tag
from register.plant.words import ModelKind
from register.services import fits
from register.services.permissions import May
from register.web.permissions import permitted

BAYS_A_PAGE = 20
"""Bays judged and shown together: each takes a check of its loop."""


def tag_in_service(name: str) -> Tag:
    return get_object_or_404(Tag.objects.select_related("loop"), name=name, retired_on__isnull=True)


@permitted(May.READ)
def what_fits(request: HttpRequest, name: str) -> HttpResponse:
    """Every item of the store and every model of the tag's kind, the best fit first."""
    tag = tag_in_service(name)
    candidates = fits.what_fits(tag, today=timezone.localdate())
    context = {
        "tag": tag,
        "at_hand": [one for one in candidates if one.at_hand],
        "to_order": [one for one in candidates if not one.at_hand],
    }
    return render(request, "swaps/what_fits.html", context)


@permitted(May.READ)
def where_it_fits(request: HttpRequest, pk: int) -> HttpResponse:
    """Every empty bay of the plant and every controller of the catalogue that takes a board."""
    board = get_object_or_404(CatalogueModel.objects.select_related("family"), pk=pk, kind=ModelKind.OPTION_BOARD)
    page = Paginator(fits.bays_that_take(board), BAYS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "board": board,
        "page": page,
        "bays": fits.judged(board, page.object_list, today=timezone.localdate()),
        "models": fits.models_that_take(board),
    }
    return render(request, "swaps/where_it_fits.html", context)
