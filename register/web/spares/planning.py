"""What to buy for a sum of money, which critical places have no spare, and what to take along."""

from __future__ import annotations

from decimal import Decimal
from itertools import islice

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from register.calc.spares import Buy, best_buys
from register.models import Loop, PlantSettings
from register.plant.words import Criticality
from register.services.kits import KitLine, kit_for, one_failure_from_stopping, reserve_kit
from register.services.permissions import May, may
from register.services.recording import Refused
from register.services.spares import Store, buyables, work_out
from register.web.parts.charts import LineChart, Series, line_chart
from register.web.permissions import permitted
from register.web.spares.forms import BudgetForm, KitForm, PlacesForm, ReserveForm
from register.web.spares.tables import BareTable, FitsTable
from register.web.spares.views import as_pdf, as_xlsx
from register.web.spares.workings import significant

LEAST_SHARE = 0.02
"""The curve ends where this share of the risk is left."""
CURVE_POINTS = 60


@permitted(May.READ)
def budget(request: HttpRequest) -> HttpResponse:
    """The store's best mix for a sum of money, and the whole curve of risk against money."""
    store = work_out(today=timezone.localdate())
    parts = buyables(store)
    now = sum(part.risk() for part in parts)
    asked = BudgetForm(request.GET or None)
    money = asked.cleaned_data["money"] if asked.is_valid() else None
    if money is not None and money < 0:
        asked.add_error("money", _("A sum to spend is 0 or more."))
        money = None
    if money is None:
        money = sum((one.cost or Decimal(0) for one in store.holdings.values()), Decimal(0))
    if not asked.is_bound:
        asked = BudgetForm(initial={"money": money})
    bought = list(best_buys(parts, float(money)))
    curve = list(islice(best_buys(parts, least_risk=now * LEAST_SHARE), CURVE_POINTS))
    context = {
        "form": asked,
        "money": money,
        "bought": _pieces(store, bought),
        "spent": bought[-1].spent if bought else 0,
        "now": significant(now),
        "left": significant(bought[-1].risk if bought else now),
        "removed": 100 * (1 - (bought[-1].risk if bought else now) / now) if now else 0,
        "chart": _curve(store, now, curve, float(money)) if curve else None,
        "currency": PlantSettings.objects.values_list("currency", flat=True).first() or "",
        "unpriced": [str(one.spare) for one in store.holdings.values() if one.places and one.spare.row.price is None],
        "not_known": [one for one in store.holdings.values() if one.places and one.missing],
    }
    return render(request, "spares/budget.html", context)


def _pieces(store: Store, bought: list[Buy]) -> list[tuple]:
    """What is bought, in the order in which each was first chosen: the spare, how many and what they cost."""
    pieces = {buy.name: buy for buy in bought}
    return [(store.spares[int(name)], buy.pieces, buy.pieces * buy.price) for name, buy in pieces.items()]


def _curve(store: Store, now: float, curve: list[Buy], money: float) -> LineChart:
    """Risk left against money spent; what the sum pays for is drawn over it."""
    labels = [_("nothing bought")]
    for step in curve:
        what = {"money": f"{step.spent:.0f}", "model": store.spares[int(step.name)]}
        labels.append(_("%(money)s: 1 more %(model)s") % what)
    at = [0.0, *(step.spent for step in curve)]
    risks = [round(risk, 3) for risk in (now, *(step.risk for step in curve))]
    within = [risk if spent <= money else None for spent, risk in zip(at, risks, strict=True)]
    return line_chart(
        _("Risk left in the store against money spent"),
        labels,
        [Series(_("Risk left"), risks), Series(_("Within your sum"), within, "advice")],
        heading=_("Money spent, and on what"),
        at=at,
    )


@permitted(May.READ)
def one_failure(request: HttpRequest) -> HttpResponse:
    """Critical loops whose part has no spare in the store, and nothing there that would fit."""
    form = PlacesForm(request.GET)
    chosen = form.cleaned_data if form.is_valid() else {}
    loops = Loop.objects.in_service()
    if chosen.get("area"):
        loops = loops.in_area(chosen["area"])
    if chosen.get("criticality"):
        loops = loops.filter(criticality=chosen["criticality"])
    else:
        loops = loops.exclude(criticality=Criticality.ROUTINE)
    today = timezone.localdate()
    found = one_failure_from_stopping(work_out(today=today), loops, today=today)
    bare = BareTable([one for one in found if not one.fits])
    RequestConfig(request, paginate={"per_page": 50}).configure(bare)
    fits = FitsTable([one for one in found if one.fits], prefix="fits-")
    RequestConfig(request, paginate={"per_page": 50}).configure(fits)
    return render(request, "spares/one_failure.html", {"form": form, "bare": bare, "fits": fits})


# Kits


def _kit(request: HttpRequest) -> tuple[KitForm, list[KitLine], str]:
    """The form, the kit and what it is for, in words."""
    form = KitForm(request.GET or None)
    if not form.is_bound or not form.is_valid():
        return form, [], ""
    area, days = form.cleaned_data["area"], form.cleaned_data["days"]
    numbers = [one.upper() for one in form.cleaned_data["loops"].replace(",", " ").split()]
    loops = Loop.objects.in_service()
    known = {number.upper(): pk for number, pk in loops.values_list("number", "pk")} if numbers else {}
    unknown = [one for one in numbers if one not in known]
    if unknown:
        form.add_error("loops", _("No loop in service is called %(numbers)s.") % {"numbers": ", ".join(unknown)})
        return form, [], ""
    if not numbers and area is None:
        form.add_error("area", _("Choose an area, or name the loops."))
        return form, [], ""
    chosen = {known[one] for one in numbers}
    if area is not None:
        chosen |= set(loops.in_area(area).values_list("pk", flat=True))
    said = [str(area)] * (area is not None) + numbers
    words = _("%(what)s, to last %(days)d days") % {"what": ", ".join(said), "days": days}
    return form, kit_for(work_out(today=timezone.localdate()), chosen, days=days), words


@permitted(May.READ, post=May.EDIT_REGISTER)
def kit(request: HttpRequest) -> HttpResponse:
    """The parts to take along for a shutdown or an area; a planner may keep them back."""
    form, lines, words = _kit(request)
    reserve = ReserveForm(request.POST or None)
    if request.method == "POST" and lines and reserve.is_valid():
        try:
            count = reserve_kit(lines, made_on=timezone.localdate(), by=request.user, **reserve.cleaned_data)
            said = _("%(count)d pieces are kept back for %(job)s.")
            messages.success(request, said % {"count": count, "job": reserve.cleaned_data["reference"]})
            return redirect(f"{request.path}?{request.GET.urlencode()}")
        except Refused as refusal:
            reserve.add_error(refusal.field if refusal.field in reserve.fields else None, str(refusal))
    context = {
        "form": form,
        "lines": lines,
        "words": words,
        "reserve": reserve if may(request.user, May.EDIT_REGISTER) else None,
        "lacking": sum(bool(line.lacking) for line in lines),
    }
    return render(request, "spares/kit.html", context)


@permitted(May.READ)
def kit_pdf(request: HttpRequest) -> HttpResponse:
    """The kit as a list to pick from the store."""
    _form, lines, words = _kit(request)
    return as_pdf("spares/kit_print.html", "kit", lines=lines, words=words or _("Nothing was chosen."))


@permitted(May.READ)
def kit_xlsx(request: HttpRequest) -> HttpResponse:
    _form, lines, words = _kit(request)
    headings = [
        _("Model"),
        _("Kind"),
        _("Order code"),
        _("Installed there"),
        _("Take along"),
        _("Free in store"),
        _("Lacking"),
        _("Where it lies"),
    ]
    cells = (
        (
            str(line.spare),
            line.spare.row.kind,
            line.spare.row.order_code,
            line.installed,
            line.take,
            line.free,
            line.lacking,
            "; ".join(line.at),
        )
        for line in lines
    )
    return as_xlsx(_("Kit"), headings, cells, {_("Of"): words or _("Nothing was chosen.")})
