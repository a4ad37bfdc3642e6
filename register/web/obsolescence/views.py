"""Loops that hang on models which are no longer made, and what would fit in their place."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from register.models import CatalogueModel, Loop, Tag
from register.models.obsolescence import hanging_places
from register.services.fits import substitutes
from register.services.permissions import May
from register.web.obsolescence.filters import ObsolescenceFilter
from register.web.obsolescence.tables import Hanging, ObsolescenceTable, totals
from register.web.parts.lists import answer_list
from register.web.permissions import permitted

MODELS_A_PAGE = 10
TAGS_A_PAGE = 10
JUDGED_IN_LIST = 10
JUDGED_AT_TAGS = 25
"""Models judged in another's place: each is a check of a loop, a few milliseconds, at each tag."""


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """Every model that is no longer made and on which a loop hangs, by what is at stake."""
    models = CatalogueModel.objects.filter(obsolete=True).with_counts().select_related("successor")
    chosen = ObsolescenceFilter(request.GET, queryset=models)
    found = {model.pk: model for model in chosen.qs}
    places = hanging_places(chosen.loops, CatalogueModel.objects.filter(pk__in=found))
    rows = [Hanging(found[pk], of_model) for pk, of_model in places.items()]
    table = ObsolescenceTable(rows)

    def page() -> dict:
        shown = [row.record for row in table.page.object_list]
        tags = Tag.objects.in_bulk([row.places[0].tag for row in shown])
        fitting = substitutes(
            {row.model: [tags[row.places[0].tag]] for row in shown}, most=JUDGED_IN_LIST, today=timezone.localdate()
        )
        for row in shown:
            row.tag, row.substitutes = tags[row.places[0].tag].name, fitting[row.model.pk]
        return {"totals": totals(rows), "judged": JUDGED_IN_LIST}

    return answer_list(
        request,
        "obsolescence/list.html",
        table,
        name="obsolete models",
        chosen=chosen,
        context=page,
        per_page=MODELS_A_PAGE,
    )


@permitted(May.READ)
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One model that is no longer made: the tags that hang on it, and how each substitute would do at them."""
    rows = CatalogueModel.objects.filter(obsolete=True).with_counts().select_related("successor")
    model = get_object_or_404(rows, pk=pk)
    places = hanging_places(Loop.objects.in_service(), CatalogueModel.objects.filter(pk=pk)).get(pk, [])
    page = Paginator(places, TAGS_A_PAGE).get_page(request.GET.get("page"))
    tags = Tag.objects.select_related("loop__area").in_bulk([place.tag for place in page.object_list])
    shown = [tags[place.tag] for place in page.object_list]
    fitting = substitutes({model: shown}, most=JUDGED_AT_TAGS, today=timezone.localdate())[pk] if shown else []
    context = {
        "model": model,
        "page": page,
        "tags": shown,
        "substitutes": fitting,
        "loops": len({place.loop for place in places}),
        "judged": JUDGED_AT_TAGS,
    }
    return render(request, "obsolescence/detail.html", context)
