"""A loop's sheet and its diagram, as the loop stands or as it stood at the end of a day."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header

from register.models import Loop, PlantSettings
from register.services.permissions import May
from register.sheets.diagram import render_svg
from register.sheets.standing import Look, Standing, standing_at
from register.web.permissions import permitted
from register.web.sheets.forms import SheetForm


@permitted(May.READ)
def pdf(request: HttpRequest, number: str) -> HttpResponse:
    form = SheetForm(request.GET)
    if not form.is_valid():
        return _refusal(form)
    day = form.cleaned_data["on"]
    standing = _standing(number, day)
    content = standing.sheet(look(request, paper=form.cleaned_data["paper"], as_on=day))
    return inline_pdf(content, f"{number} {day}.pdf" if day else f"{number}.pdf")


@permitted(May.READ)
def diagram(request: HttpRequest, number: str) -> HttpResponse:
    form = SheetForm(request.GET)
    if not form.is_valid():
        return _refusal(form)
    standing = _standing(number, form.cleaned_data["on"])
    drawn = render_svg(standing.loop, standing.verdicts, link_for=lambda other: reverse("loops:detail", args=[other]))
    return HttpResponse(drawn, content_type="image/svg+xml")


def look(request: HttpRequest, *, paper: str = "", as_on: date | None = None) -> Look:
    """How the plant has its sheets, with the address at which it is asked for them."""
    plant = PlantSettings.objects.first() or PlantSettings()
    return Look(plant.name, paper or plant.paper, request.build_absolute_uri("/"), as_on)


def inline_pdf(content: bytes, name: str) -> HttpResponse:
    disposition = content_disposition_header(as_attachment=False, filename=name)
    return HttpResponse(content, content_type="application/pdf", headers={"Content-Disposition": disposition})


def end_of(day: date) -> datetime:
    """The moment at which a day is over."""
    return timezone.make_aware(datetime.combine(day + timedelta(days=1), time.min)) - timedelta(microseconds=1)


def _refusal(form: SheetForm) -> HttpResponse:
    reasons = [reason for reasons in form.errors.values() for reason in reasons]
    return HttpResponseBadRequest(" ".join(reasons), content_type="text/plain; charset=utf-8")


def _standing(number: str, day: date | None) -> Standing:
    row = get_object_or_404(Loop, number=number)
    for standing in standing_at([row.pk], end_of(day) if day else timezone.now()):
        return standing
    raise Http404(f"Nothing was recorded of {number} up to {day or timezone.localdate():%Y-%m-%d}.")
