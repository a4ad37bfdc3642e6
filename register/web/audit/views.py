"""The auditor's page: of a day and a part of the plant, three answers, each to be taken along."""

from __future__ import annotations

from io import BytesIO

from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBadRequest, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django_tables2 import RequestConfig

from register.exchange.lists import write_list
from register.models import PlantSettings
from register.services.permissions import May
from register.sheets.pdf import html_to_pdf
from register.sheets.sheet import FOOT_MM, MARGIN_MM, PAPERS
from register.web.audit.answers import ANSWERS, Answer, Scope
from register.web.audit.forms import ScopeForm
from register.web.audit.tables import TABLES
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
def pdf(request: HttpRequest, answer: str) -> HttpResponse:
    return _export(request, answer, "pdf")


@permitted(May.READ)
def xlsx(request: HttpRequest, answer: str) -> HttpResponse:
    return _export(request, answer, "xlsx")


@permitted(May.READ)
def as_json(request: HttpRequest, answer: str) -> HttpResponse:
    return _export(request, answer, "json")


def _export(request: HttpRequest, name: str, ending: str) -> HttpResponse:
    if name not in ANSWERS:
        raise Http404
    form = _form(request)
    if not form.is_valid():
        reasons = [reason for reasons in form.errors.values() for reason in reasons]
        return HttpResponseBadRequest(" ".join(reasons), content_type="text/plain; charset=utf-8")
    scope = Scope(**form.cleaned_data)
    return WRITERS[ending](ANSWERS[name], scope, f"{name}-{scope.day:%Y-%m-%d}.{ending}")


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
    document = html_to_pdf(render_to_string("audit/answer.html", context))
    return FileResponse(BytesIO(document), content_type="application/pdf", filename=name)


def _xlsx(answer: Answer, scope: Scope, name: str) -> HttpResponse:
    target = BytesIO()
    notes = (answer.heading(scope), scope.words)
    write_list(target, answer.name.capitalize(), answer.headings, answer.exported(scope), notes=notes)
    target.seek(0)
    return FileResponse(target, as_attachment=True, filename=name)


def _json(answer: Answer, scope: Scope, name: str) -> HttpResponse:
    rows = [dict(zip(answer.headings, row, strict=True)) for row in answer.exported(scope)]
    said = {"answer": answer.heading(scope), "scope": scope.words, "rows": rows}
    dump = {"ensure_ascii": False, "indent": 1}
    return JsonResponse(said, json_dumps_params=dump, headers={"Content-Disposition": f'attachment; filename="{name}"'})


WRITERS = {"pdf": _pdf, "xlsx": _xlsx, "json": _json}
