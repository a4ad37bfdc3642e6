from __future__ import annotations

from datetime import date
from io import BytesIO

from django.http import FileResponse, HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils import timezone

from register.models import CatalogueModel, PlantSettings
from register.services.permissions import May
from register.sheets.pdf import html_to_pdf
from register.sheets.sheet import FOOT_MM, MARGIN_MM, PAPERS
from register.web.parts.lists import answer_list, chosen_words
from register.web.permissions import permitted
from register.web.spares.filters import SparesFilter
from register.web.spares.tables import SparesTable, named_kind, remark


def chosen_by(request: HttpRequest) -> SparesFilter:
    return SparesFilter(request.GET, queryset=CatalogueModel.objects.all())


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """What is installed, what lies in the store and what is short."""
    chosen = chosen_by(request)
    return answer_list(request, "spares/list.html", SparesTable(chosen.qs), name="spare parts", chosen=chosen)


@permitted(May.READ)
def pdf(request: HttpRequest) -> HttpResponse:
    """The list as chosen, whole, to be printed."""
    chosen, day = chosen_by(request), timezone.localdate()
    spares = [(model, named_kind(model), remark(model)) for model in chosen.qs]
    plant = PlantSettings.objects.first() or PlantSettings()
    context = {
        "spares": spares,
        "short": sum(model.short > 0 for model, *_ in spares),
        "chosen": chosen_words(chosen),
        "day": day,
        "plant_name": plant.name,
        "currency": plant.currency,
        "paper": PAPERS[plant.paper],
        "margin_mm": MARGIN_MM,
        "foot_mm": FOOT_MM,
    }
    document = html_to_pdf(render_to_string("spares/print.html", context))
    return FileResponse(BytesIO(document), content_type="application/pdf", filename=named(day, "pdf"))


def named(day: date, ending: str) -> str:
    return f"spare-parts-{day:%Y-%m-%d}.{ending}"
