from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from register.calc.tag_patterns import CONVENTIONS, TagPattern, loop_of, read_patterns, read_tag
from register.calc.units import all_units, label
from register.exchange.foreign import keeping
from register.exchange.foreign.files import CannotOpen
from register.exchange.foreign.keeping import Opened, patterns_of_plant
from register.exchange.foreign.making import make_reading
from register.exchange.foreign.spelling import fronts
from register.exchange.guarding import GREATEST_FILE
from register.jobs import imports
from register.models import Area, IndexFile, PlantSettings
from register.plant.tag_letters import role_of
from register.services import indexes, people
from register.services.permissions import May
from register.web.indexes.forms import MappingForm, PatternsForm, TagsForm
from register.web.indexes.looks import Look
from register.web.permissions import permitted

INDEX = "index"
WHERE = ("sheet", "heading_row", "heading_rows", "encoding", "separator")
"""Fields that say where an index stands in its file, and how that is written."""


@permitted(May.IMPORT)
def index(request: HttpRequest, pk: int) -> HttpResponse:
    """How a file is read, what becomes of it and what must be answered first; then on to the dry run."""
    kept = get_object_or_404(IndexFile, pk=pk)
    if request.method != "POST":
        return _shown(request, kept)
    asked = MappingForm.questions_in(request.POST)
    form = MappingForm(request.POST, request.FILES, opened=Opened(kept), questions=asked)
    if not form.is_valid() or not _taken(request, kept, form):
        return _shown(request, kept, form)
    if "run" in request.POST:
        return _proposed(request, kept)
    return redirect("indexes:index", kept.pk)


def _shown(
    request: HttpRequest, kept: IndexFile, form: MappingForm | None = None, *, hindered: bool = False
) -> HttpResponse:
    """The page; ``hindered`` says at its top why the dry run cannot begin."""
    opened = Opened(kept)
    look = Look(opened, whole=hindered)
    form = form or MappingForm(opened=opened, questions=look.questions)
    context = {
        "kept": kept,
        "look": look,
        "form": form,
        "columns": [(place, field, look.columns[place]) for place, field in form.columns()],
        "where": [form[name] for name in WHERE if name in form.fields],
        "hindered": hindered,
        "units": sorted({label(code) for code in all_units()}),
        "fronts": list(fronts()),
        "areas": Area.objects.values_list("code", "name"),
        "trail": _trail(),
    }
    return render(request, "indexes/index.html", context)


def _taken(request: HttpRequest, kept: IndexFile, form: MappingForm) -> bool:
    """Keep what was chosen. False where it cannot be kept, which the form then says."""
    chosen, opened = form.cleaned_data, Opened(kept)
    try:
        if sent := chosen["file"]:
            keeping.send_again(kept, sent.read(GREATEST_FILE + 1), name=sent.name, by=request.user)
        elif set(WHERE) & set(form.changed_data):
            reads = {name: chosen[name] for name in ("sheet", "encoding", "separator") if name in chosen}
            moved = (
                {} if "sheet" in form.changed_data else {name: chosen[name] for name in ("heading_row", "heading_rows")}
            )
            keeping.look_anew(kept, by=request.user, **moved, **reads)
        else:
            keeping.choose(
                opened,
                by=request.user,
                columns=form.chosen_columns(),
                patterns=chosen["patterns"],
                area=chosen["area"],
                answers=form.answers(),
                cells=dict(_cells(request.POST)),
            )
    except CannotOpen as refusal:
        form.add_error("file" if chosen["file"] else None, str(refusal))
        return False
    if chosen["mapping_name"]:
        keeping.keep_mapping(chosen["mapping_name"], Opened(kept), by=request.user)
    if chosen["mapping_name"] and "mapping_name" in form.changed_data:
        messages.success(request, _("The mapping is kept as “%(name)s”.") % {"name": chosen["mapping_name"]})
    return True


def _cells(sent: Mapping[str, str]) -> Iterator[tuple[tuple[int, int], str]]:
    """Row, column and text of the cells that were shown."""
    for name, text in sent.items():
        if match := re.fullmatch(r"cell-(\d{1,7})-(\d{1,5})", name):
            yield (int(match[1]), int(match[2])), text


def _proposed(request: HttpRequest, kept: IndexFile) -> HttpResponse:
    """On to the dry run, unless something is still open."""
    index = Opened(kept).index()
    reading = make_reading(index, kept.sheet or kept.name)
    if index.asked or index.without_area or not reading.sheets:
        return _shown(request, kept, hindered=True)
    run = imports.propose(reading, name=kept.name, kind=INDEX, data=bytes(kept.data), by=request.user)
    indexes.read_otherwise(kept, by=request.user, run=run)
    return redirect("exchange:run", run.pk)


@permitted(May.IMPORT)
def discard(request: HttpRequest, pk: int) -> HttpResponse:
    """Forget a file that was begun."""
    kept = IndexFile.objects.filter(pk=pk).first()
    if kept is None:  # it was done already
        return redirect("exchange:upload")
    if request.method == "POST":
        indexes.discard_file(kept, by=request.user)
        messages.success(request, _("%(name)s is no longer kept.") % {"name": kept.name})
        return redirect("exchange:upload")
    return render(request, "indexes/discard.html", {"kept": kept, "trail": _trail()})


@permitted(May.IMPORT, post=May.ADMINISTER)
def patterns(request: HttpRequest) -> HttpResponse:
    """How the plant writes its tags: what a pattern is, conventions in use, and tags to try."""
    plant = PlantSettings.objects.first() or PlantSettings()
    form = PatternsForm(request.POST or None, instance=plant)
    if request.method == "POST" and form.is_valid():
        people.save_plant_settings(form.save(commit=False), by=request.user)
        messages.success(request, _("Tags are read so from now on."))
        return redirect("indexes:patterns")
    trying = TagsForm(request.GET if "tags" in request.GET else None)
    tags = trying.cleaned_data["tags"].splitlines() if trying.is_bound and trying.is_valid() else []
    context = {
        "form": form,
        "trying": trying,
        "tried": list(_read(tags, read_patterns(patterns_of_plant()))),
        "conventions": [(one, list(_read(one.tags, [TagPattern(one.pattern)]))) for one in CONVENTIONS],
        "trail": _trail(),
    }
    return render(request, "indexes/patterns.html", context)


def _read(tags: Iterable[str], patterns: Iterable[TagPattern]) -> Iterator[dict[str, object]]:
    """Each tag with its parts, the way in which it is written, its loop and its role."""
    for tag in filter(None, map(str.strip, tags)):
        read = read_tag(tag, patterns)
        if read is None:
            yield {"tag": tag}
            continue
        parts, pattern = read
        yield {
            "tag": tag,
            "parts": parts,
            "written": pattern.write(parts),
            "loop": loop_of(parts, pattern),
            "role": role_of(parts.letters),
        }


def _trail() -> list[tuple[str, str]]:
    return [(_("Import"), reverse("exchange:upload"))]
