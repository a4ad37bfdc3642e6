"""The spares list and how each of its figures was worked out; the list and the order proposal on paper and as XLSX."""

from __future__ import annotations

from collections.abc import Iterable
from io import BytesIO

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from register.exchange.lists import Listing
from register.models import Area, CatalogueModel, PlannedMovement, PlantSettings, StockMovement
from register.plant.words import Criticality
from register.services.permissions import May, may
from register.services.spares import Spare, work_out
from register.sheets.pdf import html_to_pdf, printed_html
from register.sheets.sheet import FOOT_MM, MARGIN_MM, PAPERS
from register.web.parts.lists import answer_list, chosen_words, download
from register.web.permissions import permitted
from register.web.spares.filters import SparesFilter
from register.web.spares.rows import SpareRow
from register.web.spares.tables import MovementTable, PlannedTable, SparesTable, percent
from register.web.spares.workings import workings


def chosen_by(request: HttpRequest) -> tuple[SparesFilter, list[SpareRow]]:
    chosen = SparesFilter(request.GET, queryset=CatalogueModel.objects.all())
    return chosen, chosen.rows(work_out(today=timezone.localdate()))


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """What is installed, what lies in the store, what is needed, short and too much."""
    chosen, rows = chosen_by(request)
    context = {
        "short": [row for row in rows if row.short],
        "to_order": sum(row.cost or 0 for row in rows),
        "surplus": sum((row.surplus or 0) * (row.price or 0) for row in rows),
        "unknown": sum(bool(row.missing) for row in rows),
        "currency": PlantSettings.objects.values_list("currency", flat=True).first() or "",
    }
    table = SparesTable(rows)
    return answer_list(request, "spares/list.html", table, name="spare parts", chosen=chosen, context=context)


@permitted(May.READ)
def short(request: HttpRequest) -> HttpResponse:
    """How many models are short, for a page that shows it once it is worked out."""
    store = work_out(today=timezone.localdate())
    rows = SparesFilter({}, queryset=CatalogueModel.objects.all()).rows(store)
    return HttpResponse(sum(bool(row.short) for row in rows), content_type="text/plain; charset=utf-8")


@permitted(May.READ)
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One model: every figure of the list, with its inputs, formula, result and source."""
    store = work_out(today=timezone.localdate())
    if pk not in store.spares:
        raise Http404("No such model.")
    spare, holding = store.spares[pk], store.holding_of(pk)
    currency = PlantSettings.objects.values_list("currency", flat=True).first() or ""
    moved = StockMovement.objects.of_model(spare.row).select_related("line__model", "asset__model", "by")
    movements = MovementTable(moved, exclude=("model",))
    RequestConfig(request, paginate={"per_page": 25}).configure(movements)
    planned = PlannedMovement.objects.open().filter(model=pk).select_related("by")
    hidden = () if may(request.user, May.EDIT_REGISTER) else ("close",)
    context = {
        "spare": spare,
        "row": SpareRow(spare, holding, spare.places, {}),
        "holding": holding,
        "places": _places(spare),
        "criticalities": list(Criticality),
        "controllers": _controllers(spare, store.spares),
        "workings": list(workings(holding, spare, currency)),
        "served": [one for one in holding.served if len(holding.served) > 1],
        "stand_ins": [store.spares[one] for one in store.stand_ins.get(pk, ())],
        "lines": spare.row.stock_lines.all(),
        "planned": PlannedTable(planned, exclude=hidden),
        "movements": movements,
    }
    return render(request, "spares/detail.html", context)


def _places(spare: Spare) -> list[tuple[str, list[tuple[str, int]], int]]:
    """The installed base: each area, how many by criticality, and all of them."""
    names = dict(Area.objects.values_list("pk", "path"))
    found: dict[str, dict[str, int]] = {}
    for (area, criticality), count in spare.places.items():
        found.setdefault(names[area], {})[criticality] = count
    return [
        (path, [(one, counts.get(str(one), 0)) for one in Criticality], sum(counts.values()))
        for path, counts in sorted(found.items())
    ]


def _controllers(spare: Spare, known: dict[int, Spare]) -> list[tuple[Spare, int]]:
    """Of a board: the controller models that it sits in, counted once for all of them."""
    return sorted(((known[pk], count) for pk, count in spare.controllers.items()), key=lambda pair: -pair[1])


# On paper and as a workbook


def as_pdf(template: str, name: str, **context: object) -> FileResponse:
    """A list of spares in the house's style of print."""
    plant, day = PlantSettings.objects.first() or PlantSettings(), timezone.localdate()
    context |= {
        "plant_name": plant.name,
        "currency": plant.currency,
        "paper": PAPERS[plant.paper],
        "margin_mm": MARGIN_MM,
        "foot_mm": FOOT_MM,
        "day": day,
    }
    document = html_to_pdf(printed_html(template, context))
    return FileResponse(BytesIO(document), content_type="application/pdf", filename=f"{name}-{day:%Y-%m-%d}.pdf")


def as_xlsx(name: str, headings: list[str], rows: Iterable, notes: dict[str, str]) -> HttpResponse:
    """A list that is no page's table, as a workbook."""
    notes = {_("Taken on"): f"{timezone.localdate():%Y-%m-%d}"} | notes
    return download(Listing(name, headings, headings, rows, notes), "xlsx")


@permitted(May.READ)
def pdf(request: HttpRequest) -> HttpResponse:
    """The list as chosen, whole, to be printed."""
    chosen, rows = chosen_by(request)
    return as_pdf(
        "spares/print.html", "spare-parts", rows=rows, groups=chosen.grouped(rows), chosen=chosen_words(chosen)
    )


@permitted(May.READ)
def orders_pdf(request: HttpRequest) -> HttpResponse:
    """What to order, as chosen, to be printed."""
    chosen, rows = chosen_by(request)
    rows, day = [row for row in rows if row.short], timezone.localdate()
    groups = [
        (group, [(row, row.arrives_on(day), percent(row.risk_percent or 0)) for row in of_group], _total(of_group))
        for group, of_group in chosen.grouped(rows)
    ]
    return as_pdf("spares/orders.html", "spares-order", groups=groups, total=_total(rows), chosen=chosen_words(chosen))


def _total(rows: list[SpareRow]) -> tuple:
    """The cost of what is short, and how many have no price."""
    return sum(row.cost or 0 for row in rows), sum(row.cost is None for row in rows)


@permitted(May.READ)
def orders_xlsx(request: HttpRequest) -> HttpResponse:
    """What to order, as chosen, as a workbook."""
    chosen, rows = chosen_by(request)
    day = timezone.localdate()
    cells = (
        (
            group,
            row.model.maker,
            row.model.name,
            row.model.order_code,
            row.short,
            row.price,
            row.cost,
            row.lead_time_days,
            row.arrives_on(day),
            row.main_area,
            row.remark,
        )
        for group, of_group in chosen.grouped([row for row in rows if row.short])
        for row in of_group
    )
    headings = [
        _("Group"),
        _("Maker"),
        _("Model"),
        _("Order code"),
        _("Quantity"),
        _("Price"),
        _("Cost"),
        _("Lead time (days)"),
        _("Arrives on, ordered today"),
        _("Mostly for"),
        _("Remark"),
    ]
    return as_xlsx(_("Order proposal"), headings, cells, {_("Narrowed by"): chosen_words(chosen) or _("Whole plant")})
