"""A loop's sheet and its diagram, as the loop stands or as it stood at the end of a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header

from register.loading import load_loop
from register.models import Concession, Finding, Loop, PlantSettings, Revision
from register.plant import values
from register.services.permissions import May
from register.sheets.diagram import render_svg
from register.sheets.sheet import ConcessionNote, RevisionNote, render_sheet
from register.web.permissions import permitted
from register.web.sheets.forms import SheetForm


@permitted(May.READ)
def pdf(request: HttpRequest, number: str) -> HttpResponse:
    form = SheetForm(request.GET)
    if not form.is_valid():
        return _refusal(form)
    shown = _shown(number, form.cleaned_data["on"])
    plant = PlantSettings.objects.first()
    content = render_sheet(
        shown.loop,
        [one.verdict for one in shown.findings],
        revision=shown.note,
        plant_name=plant.name if plant else "",
        paper=form.cleaned_data["paper"] or (plant.paper if plant else "A4"),
        live_url=request.build_absolute_uri(reverse("loops:detail", args=[number])),
        as_on=form.cleaned_data["on"],
        concessions=shown.concessions,
        link_for=lambda other: request.build_absolute_uri(reverse("loops:detail", args=[other])),
    )
    day = f" {form.cleaned_data['on']}" if form.cleaned_data["on"] else ""
    disposition = content_disposition_header(as_attachment=False, filename=f"{number}{day}.pdf")
    return HttpResponse(content, content_type="application/pdf", headers={"Content-Disposition": disposition})


@permitted(May.READ)
def diagram(request: HttpRequest, number: str) -> HttpResponse:
    form = SheetForm(request.GET)
    if not form.is_valid():
        return _refusal(form)
    shown = _shown(number, form.cleaned_data["on"])
    drawn = render_svg(
        shown.loop,
        [one.verdict for one in shown.findings],
        link_for=lambda other: reverse("loops:detail", args=[other]),
    )
    return HttpResponse(drawn, content_type="image/svg+xml")


def _refusal(form: SheetForm) -> HttpResponse:
    reasons = [reason for reasons in form.errors.values() for reason in reasons]
    return HttpResponseBadRequest(" ".join(reasons), content_type="text/plain; charset=utf-8")


@dataclass(frozen=True)
class _Shown:
    """A loop at a moment, with what was open then."""

    loop: values.Loop
    note: RevisionNote | None
    findings: list[Finding]
    concessions: dict[tuple[str, str, str], ConcessionNote]


def _shown(number: str, day: date | None) -> _Shown:
    row = get_object_or_404(Loop, number=number)
    found = Finding.objects.filter(loop=row).by_urgency().select_related("concession__by")
    if day is None:
        revision = row.revisions.select_related("by").filter(number=row.revision).first()
        findings = list(found.open())
        return _Shown(load_loop(number, today=timezone.localdate()), _note(revision), findings, _concessions(findings))
    moment = timezone.make_aware(datetime.combine(day + timedelta(days=1), time.min))
    revision = row.revisions.select_related("by").as_on(moment).first()
    if revision is None:
        raise Http404(f"Nothing was recorded of {number} up to {day:%Y-%m-%d}.")
    findings = list(found.open_at(moment))
    return _Shown(revision.loop_value(), _note(revision), findings, _concessions(findings, moment))


def _note(revision: Revision | None) -> RevisionNote | None:
    if revision is None:
        return None
    at = timezone.localtime(revision.at)
    return RevisionNote(revision.number, at, revision.by.display_name, revision.reason)


def _concessions(findings: list[Finding], moment: datetime | None = None) -> dict[tuple[str, str, str], ConcessionNote]:
    """The concessions that cover findings, now or at a moment, by the identity of each finding."""
    return {
        one.verdict.identity: ConcessionNote(
            by=one.concession.by.display_name,
            until=one.concession.until,
            reason=one.concession.reason,
            reference=one.concession.reference,
        )
        for one in findings
        if one.concession and _holds(one.concession, moment)
    }


def _holds(concession: Concession, moment: datetime | None) -> bool:
    return moment is None or (concession.at <= moment and (concession.ended_at is None or concession.ended_at > moment))
