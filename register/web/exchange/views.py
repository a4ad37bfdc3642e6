from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from tempfile import TemporaryFile
from typing import BinaryIO

from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from register.exchange.dry_runs import ON_A_PAGE, page_of
from register.exchange.foreign.files import CannotOpen
from register.exchange.foreign.keeping import begin
from register.exchange.guarding import GREATEST_FILE
from register.exchange.keeping import name_of
from register.exchange.reading import read_workbook
from register.exchange.sheets import SHEETS
from register.exchange.writing import write_blank_workbook, write_workbook
from register.jobs import imports
from register.jobs.beside import progress_of
from register.models import ImportRun, IndexFile
from register.models.imports import PartHolds
from register.services.permissions import May
from register.services.recording import Refused
from register.web.exchange.forms import UndoForm, WorkbookForm
from register.web.exchange.tables import CountsTable, RunTable
from register.web.parts.lists import answer_list
from register.web.permissions import permitted

WORKBOOK = "workbook"


@permitted(May.IMPORT)
def upload(request: HttpRequest) -> HttpResponse:
    """Take a file: go on to what a workbook of the register's own would do, or to how any other index is read."""
    form = WorkbookForm(request.POST, request.FILES) if request.method == "POST" else WorkbookForm()
    if form.is_valid():
        file = form.cleaned_data["workbook"]
        data = file.read(GREATEST_FILE + 1)
        reading = read_workbook(data)
        if 2 * len(reading.sheets) > len(SHEETS):
            one = imports.propose(reading, name=file.name, kind=WORKBOOK, data=data, by=request.user)
            return redirect("exchange:run", one.pk)
        try:
            kept = begin(data, name=file.name, by=request.user)
        except CannotOpen as refusal:
            form.add_error("workbook", str(refusal))
        else:
            return redirect("indexes:index", kept.pk)
    begun = IndexFile.objects.select_related("by", "run").defer("data", "mapping", "run__outline")[:20]
    return render(request, "exchange/upload.html", {"form": form, "begun": begun})


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """Every import, the latest first."""
    table = RunTable(ImportRun.objects.select_related("by").defer("outline"))
    return answer_list(request, "exchange/list.html", table, name="imports")


@permitted(May.READ, post=May.IMPORT)
def run(request: HttpRequest, pk: int) -> HttpResponse:
    """What an import would do or did; a POST brings it in."""
    one = get_object_or_404(ImportRun.objects.select_related("by", "imported_by", "undone_by", "job"), pk=pk)
    if request.method == "POST":
        try:
            imports.begin(one, by=request.user)
        except Refused as refusal:
            messages.error(request, str(refusal))
        return redirect("exchange:run", pk)
    imports.settle(one)
    is_busy = one.state in imports.BEFORE
    done, total = progress_of(one.job) if is_busy and one.job else (0, 0)
    context = {
        "run": one,
        "busy": is_busy,
        "done": done,
        "total": total,
        "trail": [(_("Imports"), reverse("exchange:list"))],
        "index_files": one.index_files.only("pk"),
    }
    if is_busy:
        return render(request, "exchange/progress.html" if request.htmx else "exchange/run.html", context)
    if request.htmx:  # it has ended since the page was drawn
        answer = HttpResponse()
        answer["HX-Refresh"] = "true"
        return answer
    views = [
        View("problems", _("Problems"), PartHolds.PROBLEMS, one.problems),
        View("changes", _("Rows"), PartHolds.LINES, one.added + one.changed),
        View("findings", _("Findings"), PartHolds.FINDINGS, one.parts_of(PartHolds.FINDINGS)),
    ]
    views = [view for view in views if view.count]
    shown = next((view for view in views if view.name == request.GET.get("show")), views[0] if views else None)
    context |= {
        "counts": counted(one),
        "shown": shown,
        "tabs": [(f"{view.label} ({view.count:,})", f"?show={view.name}", view is shown) for view in views],
        "page": shown.page(one, request.GET.get("page")) if shown else None,
    }
    return render(request, "exchange/run.html", context)


@permitted(May.IMPORT)
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a proposal aside, or stop an import under way."""
    one = get_object_or_404(ImportRun.objects.select_related("job"), pk=pk)
    if request.method == "POST":
        imports.cancel(one, by=request.user)
    return redirect("exchange:run", pk)


@permitted(May.IMPORT)
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the whole import back, while all that it touched stands as it left it."""
    one = get_object_or_404(ImportRun, pk=pk)
    form = UndoForm(request.POST or None)
    if form.is_valid():
        try:
            imports.undo(one, by=request.user, reason=form.cleaned_data["reason"])
        except Refused as refusal:
            messages.error(request, str(refusal))
        return redirect("exchange:run", pk)
    trail = [(_("Imports"), reverse("exchange:list")), (one.name, reverse("exchange:run", args=[pk]))]
    return render(request, "exchange/undo.html", {"run": one, "form": form, "trail": trail})


@dataclass(frozen=True)
class View:
    """Lines of a run that are looked at together."""

    name: str
    label: str
    holds: PartHolds
    count: int

    def page(self, run: ImportRun, number: str | None) -> Page:
        return Paginator(_Lines(run, self.holds, self.count), ON_A_PAGE).get_page(number)


class _Lines(Sequence):
    """Lines of a run, of which a paginator takes one page."""

    def __init__(self, run: ImportRun, holds: PartHolds, whole: int):
        self.run, self.holds, self.whole = run, holds, whole

    def __len__(self) -> int:
        return self.whole

    def __getitem__(self, part: slice) -> list:
        return page_of(self.run, self.holds, part.start // ON_A_PAGE)


def counted(run: ImportRun) -> CountsTable:
    rows = [
        {"sheet": sheet.name, "added": added, "changed": changed, "unchanged": unchanged}
        for sheet in SHEETS
        if any(counts := run.counts.get(name_of(sheet.table), ()))
        for added, changed, unchanged in [counts]
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
