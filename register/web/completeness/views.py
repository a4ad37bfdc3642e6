from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse

from register.models import Gap, Loop
from register.plant.completeness import ITEMS
from register.services.permissions import May
from register.web.completeness.tables import GapTable, ItemTable
from register.web.parts.lists import answer_list
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """What the records of the plant's loops lack: each item with the number of loops."""
    lacking = Gap.objects.count_by_item()
    items = [
        {"item": one.slug, "asks": one.asks, "minimum": one.minimum, "lacking": lacking.get(one.slug, 0)}
        for one in sorted(ITEMS, key=lambda one: not one.minimum)
    ]
    loops = Loop.objects.in_service()
    context = {"loops": loops.count(), "whole": loops.filter(completeness_percent=100).count()}
    return answer_list(request, "completeness/list.html", ItemTable(items), name="gaps", context=context)


@permitted(May.READ)
def detail(request: HttpRequest, slug: str) -> HttpResponse:
    """Every place where one item is missing."""
    item = next((one for one in ITEMS if one.slug == slug), None)
    if item is None:
        raise Http404(f"There is no item {slug}.")
    gaps = Gap.objects.filter(item=slug, loop__retired_on__isnull=True).select_related("loop__area")
    table = GapTable(gaps, order_by="loop")
    return answer_list(request, "completeness/detail.html", table, name=f"gaps in {slug}", context={"item": item})
