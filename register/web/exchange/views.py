from __future__ import annotations

from collections.abc import Callable
from tempfile import TemporaryFile
from typing import BinaryIO

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from register.exchange.guarding import GREATEST_FILE
from register.exchange.reading import Report, WorkbookRefused, import_workbook
from register.exchange.writing import write_blank_workbook, write_workbook
from register.services.permissions import May
from register.web.exchange.forms import WorkbookForm
from register.web.exchange.tables import CountsTable, ProblemTable
from register.web.permissions import permitted

MOST_SHOWN = 500


@permitted(May.IMPORT)
def upload(request: HttpRequest) -> HttpResponse:
    """Take a workbook: what it changed, or everything that is wrong with it."""
    form = WorkbookForm(request.POST, request.FILES) if request.method == "POST" else WorkbookForm()
    if not form.is_valid():
        return render(request, "exchange/upload.html", {"form": form})
    file = form.cleaned_data["workbook"]
    try:
        report = import_workbook(file.read(GREATEST_FILE + 1), by=request.user, name=file.name)
    except WorkbookRefused as refused:
        found = {
            "problems": len(refused.problems),
            "shown": MOST_SHOWN,
            "table": ProblemTable(refused.problems[:MOST_SHOWN]),
        }
        return render(request, "exchange/upload.html", {"form": WorkbookForm(), "name": file.name} | found)
    context = {
        "name": file.name,
        "report": report,
        "table": counted(report),
        "trail": [("Import", reverse("exchange:upload"))],
    }
    return render(request, "exchange/imported.html", context)


def counted(report: Report) -> CountsTable:
    rows = [
        {"sheet": sheet, "added": counts.added, "changed": counts.changed, "unchanged": counts.unchanged}
        for sheet, counts in report.counts.items()
        if counts.added or counts.changed or counts.unchanged
    ]
    return CountsTable(rows)


@permitted(May.READ)
def register(request: HttpRequest) -> HttpResponse:
    """The whole register as a workbook that can be imported again."""
    return workbook(write_workbook, f"register-{timezone.localdate():%Y-%m-%d}.xlsx")


@permitted(May.READ)
def blank(request: HttpRequest) -> HttpResponse:
    return workbook(write_blank_workbook, "register-blank.xlsx")


def workbook(write: Callable[[BinaryIO], None], name: str) -> FileResponse:
    target = TemporaryFile()  # noqa: SIM115 - the response closes it when it is sent
    write(target)
    target.seek(0)
    return FileResponse(target, as_attachment=True, filename=name)
