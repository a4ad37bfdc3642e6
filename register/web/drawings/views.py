"""P&IDs: take a drawing, show it against the register, and go on to the dry run of what it brings."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from register.exchange.dexpi.comparing import Fact, Kind
from register.exchange.dexpi.drawing import from_json
from register.exchange.dexpi.keeping import differences_of, keep
from register.exchange.dexpi.making import make_reading
from register.exchange.dexpi.reading import GREATEST_FILE, NotADrawing
from register.exchange.dexpi.standing import what_stands
from register.jobs.imports import propose
from register.models import DrawingReading
from register.services.permissions import May, may
from register.web.drawings.forms import DrawingFileForm, TakeForm
from register.web.drawings.tables import DifferenceTable, ReadingTable
from register.web.parts.lists import answer_list
from register.web.permissions import permitted

DRAWING = "drawing"


@permitted(May.READ, post=May.IMPORT)
def listing(request: HttpRequest) -> HttpResponse:
    """Every drawing that was read; a POST takes another."""
    form = DrawingFileForm(request.POST, request.FILES) if request.method == "POST" else DrawingFileForm()
    if form.is_valid():
        file = form.cleaned_data["drawing"]
        try:
            reading = keep(file.read(GREATEST_FILE + 1), file.name, by=request.user)
            return redirect("drawings:detail", reading.pk)
        except NotADrawing as refusal:
            form.add_error("drawing", str(refusal))
    table = ReadingTable(DrawingReading.objects.select_related("by").defer("said"))
    context = {"form": form, "trail": [(_("Import"), reverse("exchange:upload"))]}
    return answer_list(request, "drawings/list.html", table, name="drawings", context=context)


@permitted(May.READ, post=May.IMPORT)
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """Drawing against register; a POST goes on to the dry run with the contradicting facts that were ticked."""
    reading = get_object_or_404(DrawingReading.objects.select_related("by"), pk=pk)
    drawing, found = from_json(reading.said), differences_of(reading)
    by_kind = {kind: [one for one in found if one.kind is kind] for kind in Kind}
    form = TakeForm(
        request.POST if request.method == "POST" else None,
        drawing,
        [one.key for one in by_kind[Kind.CONTRADICTED]],
        has_new_loops=any(one.fact is Fact.LOOP for one in by_kind[Kind.ADDED]),
    )
    if form.is_valid():
        made = make_reading(drawing, what_stands([drawing]), area=form.area_code, taken=form.cleaned_data["take"])
        if made.sheets:
            run = propose(made, name=str(reading), kind=DRAWING, sha256=reading.sha256, by=request.user)
            return redirect("exchange:run", run.pk)
        messages.info(request, _("The drawing names nothing that could be brought in."))
        return redirect("drawings:detail", pk)
    takes = may(request.user, May.IMPORT) and not drawing.faults
    context = {
        "reading": reading,
        "drawing": drawing,
        "added": DifferenceTable(by_kind[Kind.ADDED], _("Added by the drawing")),
        "contradicted": DifferenceTable(by_kind[Kind.CONTRADICTED], _("Contradicted"), boxes=takes),
        "gone": DifferenceTable(by_kind[Kind.GONE], _("Gone from the drawing")),
        "found": found,
        "form": form,
        "takes": takes,
        "later": reading.others().filter(read_at__gt=reading.read_at).first(),
        "others": reading.others().defer("said")[:20],
        "facts": [
            (_("Title"), drawing.title),
            (_("Revision"), drawing.revision),
            (_("Section of plant"), f"{drawing.area_code} {drawing.area_name}".strip()),
            (_("Loops"), len(drawing.loops)),
            (_("Functions"), len(drawing.functions)),
            (_("Signal lines"), len(drawing.lines)),
            (_("File"), reading.file_name),
        ],
        "trail": [(_("Import"), reverse("exchange:upload")), (_("Drawings"), reverse("drawings:list"))],
    }
    return render(request, "drawings/detail.html", context)
