from __future__ import annotations

from datetime import date
from io import BytesIO

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django_tables2 import RequestConfig

from register.exchange.lists import write_list
from register.models import CatalogueModel
from register.services.permissions import May
from register.web.permissions import permitted
from register.web.spares.filters import SparesFilter
from register.web.spares.tables import SparesTable, named_kind, remark


def chosen_by(request: HttpRequest) -> SparesFilter:
    return SparesFilter(request.GET, queryset=CatalogueModel.objects.all())


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """What is installed, what lies in the store and what is short."""
    chosen = chosen_by(request)
    table = SparesTable(chosen.qs)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "spares/list.html", {"filter": chosen, "table": table})


HEADINGS = (
    "Model",
    "Kind",
    "Order code",
    "Installed",
    "In store",
    "Minimum",
    "Short",
    "Price",
    "Lead time (days)",
    "Remark",
)


@permitted(May.READ)
def xlsx(request: HttpRequest) -> HttpResponse:
    """The list as chosen, whole, as a workbook."""
    chosen, day = chosen_by(request), timezone.localdate()
    rows = (
        (
            str(one),
            named_kind(one),
            one.order_code,
            one.installed,
            one.in_store,
            one.minimum,
            one.short,
            one.price,
            one.lead_time_days,
            remark(one),
        )
        for one in chosen.qs
    )
    notes = [f"Spare parts, {day:%Y-%m-%d}", chosen.words or "Whole plant"]
    workbook = BytesIO()
    write_list(workbook, "Spare parts", HEADINGS, rows, notes=notes)
    workbook.seek(0)
    return FileResponse(workbook, as_attachment=True, filename=named(day, "xlsx"))


def named(day: date, ending: str) -> str:
    return f"spare-parts-{day:%Y-%m-%d}.{ending}"
