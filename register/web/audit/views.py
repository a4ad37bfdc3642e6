"""The auditor's page: of a day and a part of the plant, three answers, each to be taken along."""

from __future__ import annotations

from io import BytesIO

from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.utils import timezone
from django_tables2 import RequestConfig

from register.exchange.lists import Listing, TooLong
from register.models import PlantSettings
from register.services.permissions import May
from register.sheets.pdf import html_to_pdf, printed_html
from register.sheets.sheet import FOOT_MM, MARGIN_MM, PAPERS
from register.web.audit.answers import ANSWERS, Answer, Scope
from register.web.audit.forms import ScopeForm
from register.web.audit.tables import TABLES
from register.web.parts.lists import download
from register.web.permissions import permitted


def _form(request: HttpRequest) -> ScopeForm:
    usual = {name: day.isoformat() for name, day in ScopeForm.usual().items()}
    return ScopeForm(usual | {name: value for name, value in request.GET.items() if value})


@permitted(May.READ)
def page(request: HttpRequest) -> HttpResponse:
    form = _form(request)
    if not form.is_valid():
        return render(request, "audit/page.html", {"form": form})
    scope = Scope(**form.cleaned_data)
    answers = []
    for name, answer in ANSWERS.items():
        table = TABLES[name](scope, answer.rows(scope))
        RequestConfig(request, paginate={"per_page": 10}).configure(table)
        answers.append((answer, answer.heading(scope), table))
    query = {
        "day": scope.day.isoformat(),
        "since": scope.since.isoformat(),
        "area": scope.area.pk if scope.area else "",
    }
    return render(request, "audit/page.html", {"form": form, "scope": scope, "answers": answers, "query": query})


@permitted(May.READ)
def export(request: HttpRequest, answer: str, ending: str) -> HttpResponse:
    """An answer, whole, as a file."""
    if answer not in ANSWERS:
        raise Http404
    form = _form(request)
    if not form.is_valid():
        reasons = [reason for reasons in form.errors.values() for reason in reasons]
        return HttpResponseBadRequest(" ".join(reasons), content_type="text/plain; charset=utf-8")
    asked, scope = ANSWERS[answer], Scope(**form.cleaned_data)
    if ending == "pdf":
        return _pdf(asked, scope, f"{answer}-{scope.day:%Y-%m-%d}.pdf")
    notes = {"Answer": asked.heading(scope), "Of": scope.words}
    listing = Listing(answer.capitalize(), asked.headings, asked.headings, asked.exported(scope), notes)
    try:
        return download(listing, ending, scope.day)
    except TooLong as reason:
        return HttpResponseBadRequest(str(reason), content_type="text/plain; charset=utf-8")


def _pdf(answer: Answer, scope: Scope, name: str) -> HttpResponse:
    plant = PlantSettings.objects.first() or PlantSettings()
    context = {
        "answer": answer,
        "heading": answer.heading(scope),
        "scope": scope,
        "rows": list(answer.exported(scope)),
        "printed_at": timezone.localtime(),
        "plant_name": plant.name,
        "paper": PAPERS[plant.paper],
        "margin_mm": MARGIN_MM,
        "foot_mm": FOOT_MM,
    }
    document = html_to_pdf(printed_html("audit/answer.html", context))
    return FileResponse(BytesIO(document), content_type="application/pdf", filename=name)
