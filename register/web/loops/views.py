from __future__ import annotations

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from register.loading import load_loop
from register.models import Finding, Link, Loop
from register.plant.cautions import cautions_for
from register.rules.engine import all_rules
from register.services import editing
from register.services.checking import settings_for
from register.services.permissions import May
from register.sheets.diagram.shapes import Shown
from register.web.changes import ConfirmForm, change
from register.web.loops.beside import address_of, beside
from register.web.loops.forms import LoopForm, NewLoopForm
from register.web.loops.listing import LOOPS
from register.web.parts.diagrams import diagram
from register.web.permissions import permitted
from register.web.workbench.bench import answer_bench

PEEKED_FINDINGS = 6
"""So many findings of a loop or a tag stand beside a list; the rest stand on its page."""


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """The register: every loop in service, narrowed by the filters."""
    return answer_bench(request, "loops/list.html", LOOPS, _peeked)


def _peeked(number: str) -> dict[str, object] | None:
    """What the list shows of the loop that is looked at beside it."""
    row = Loop.objects.select_related("area").filter(number=number).first() if number else None
    if row is None:
        return None
    findings = list(Finding.objects.open().filter(loop=row).by_urgency()[: PEEKED_FINDINGS + 1])
    return {
        "row": row,
        "findings": findings[:PEEKED_FINDINGS],
        "more": len(findings) > PEEKED_FINDINGS,
        "tags": row.tags.in_service(),
        "joined": Link.objects.between_loops(row),
    }


@permitted(May.READ)
def detail(request: HttpRequest, number: str) -> HttpResponse:
    """A loop as it stands: its chain, tags, settings, boards, alarms, links, findings and history."""
    row = get_object_or_404(Loop.objects.select_related("area"), number=number)
    loop = load_loop(number, today=timezone.localdate())
    findings = list(Finding.objects.open().filter(loop=row).by_urgency().select_related("concession__by"))
    plant_set = settings_for(row.area.path)
    shown = Shown(*(request.GET.get(name, "") for name in ("show", "tag", "place")))
    opened = {"row": row, "plant_set": plant_set, "beside": beside(row, loop, findings, shown)}
    if request.htmx:
        return render(request, "loops/beside.html", opened)
    context = opened | {
        "loop": loop,
        "switched_off": [one for one in plant_set.values() if one.off],
        "diagram": diagram(loop, [one.verdict for one in findings], address_of=partial(address_of, loop)),
        "connections": list(loop.connections()),
        "findings": [(one, all_rules().get(one.rule)) for one in findings],
        "gaps": row.gaps.all(),
        "revisions": row.revisions.select_related("by")[:5],
        "cautions": cautions_for(loop),
    }
    return render(request, "loops/detail.html", context)


@permitted(May.EDIT_REGISTER)
def create(request: HttpRequest) -> HttpResponse:
    form = NewLoopForm(request.POST or None)
    made: list[Loop] = []

    def write() -> None:
        made[:] = [editing.create_loop(form.facts, by=request.user, **form.signature)]

    return change(
        request,
        form,
        write,
        loop=None,
        done=lambda: reverse("loops:detail", args=[made[0].number]),
        back=reverse("loops:list"),
        said=_("The loop was added. Add its tags next."),
        title=_("New loop"),
    )


@permitted(May.EDIT_REGISTER)
def edit(request: HttpRequest, number: str) -> HttpResponse:
    loop = get_object_or_404(Loop, number=number)
    form = LoopForm(request.POST or None, instance=loop, initial={"seen_revision": loop.revision})
    stored = Loop.objects.get(pk=loop.pk)

    def write() -> None:
        editing.edit_loop(
            stored, form.facts, by=request.user, work_order=form.cleaned_data["work_order"], **form.signature
        )

    return change(
        request,
        form,
        write,
        loop=stored,
        done=lambda: reverse("loops:detail", args=[stored.number]),
        back=reverse("loops:detail", args=[number]),
        said=_("%(number)s was changed.") % {"number": number},
        title=_("Change %(number)s") % {"number": number},
    )


@permitted(May.EDIT_REGISTER)
def retire(request: HttpRequest, number: str) -> HttpResponse:
    """Take a loop out of service; its history stays."""
    loop = get_object_or_404(Loop, number=number, retired_on__isnull=True)
    form = ConfirmForm(request.POST or None, initial={"seen_revision": loop.revision})

    def write() -> None:
        editing.retire_loop(loop, by=request.user, **form.signature)

    back = reverse("loops:detail", args=[number])
    said = _("%(number)s is retired. Its history stays.") % {"number": number}
    return change(
        request,
        form,
        write,
        loop=loop,
        done=lambda: back,
        back=back,
        said=said,
        title=_("Retire %(number)s") % {"number": number},
    )
