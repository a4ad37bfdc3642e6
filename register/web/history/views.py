"""What a loop was, who changed it, when and why: every revision is there, opened or beside another."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from register.models import Finding, Loop, Revision
from register.plant.diff import changes
from register.services.permissions import May
from register.web.history.forms import CompareForm, DayForm
from register.web.history.tables import ChangeTable, RevisionTable
from register.web.parts.diagrams import diagram
from register.web.parts.lists import answer_list
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest, number: str) -> HttpResponse:
    """Every revision of a loop."""
    loop = get_object_or_404(Loop, number=number)
    table = RevisionTable(loop.revisions.listed())
    context = {
        "loop": loop,
        "day_form": DayForm(initial={"day": timezone.localdate()}),
        "compare_form": CompareForm(initial={"old": max(1, loop.revision - 1), "new": loop.revision}),
    }
    return answer_list(request, "history/list.html", table, name=f"history of {number}", context=context)


@permitted(May.READ)
def on(request: HttpRequest, number: str) -> HttpResponse:
    """Lead to the revision that stood at the end of a day."""
    loop = get_object_or_404(Loop, number=number)
    form = DayForm(request.GET)
    if not form.is_valid():
        messages.error(request, _("Give the day as a date, such as 2026-03-01."))
        return redirect("history:list", number)
    next_day = form.cleaned_data["day"] + timedelta(days=1)
    moment = timezone.make_aware(datetime.combine(next_day, time.min))
    if standing := loop.revisions.as_on(moment).listed().first():
        return redirect("history:detail", number, standing.number)
    messages.warning(request, f"Nothing was recorded of {number} up to {form.cleaned_data['day']:%Y-%m-%d}.")
    return redirect("history:list", number)


@permitted(May.READ)
def detail(request: HttpRequest, number: str, revision: int) -> HttpResponse:
    """A loop as it stood at one revision, with the findings that were open then."""
    row = get_object_or_404(Revision.objects.select_related("loop", "by"), loop__number=number, number=revision)
    loop = row.loop_value()
    findings = list(Finding.objects.filter(loop=row.loop).at_revision(revision).by_urgency())
    context = {
        "revision": row,
        "row": row.loop,
        "loop": loop,
        "connections": list(loop.connections()),
        "findings": findings,
        "diagram": diagram(loop, [one.verdict for one in findings]),
    }
    return render(request, "history/detail.html", context)


@permitted(May.READ)
def compare(request: HttpRequest, number: str) -> HttpResponse:
    """Two revisions of a loop, fact by fact and drawing by drawing."""
    loop = get_object_or_404(Loop, number=number)
    form = CompareForm(request.GET)
    table, pair, drawn = None, [], []
    if form.is_valid():
        wanted = [form.cleaned_data["old"], form.cleaned_data["new"]]
        found = {one.number: one for one in loop.revisions.select_related("by").filter(number__in=wanted)}
        for name, one in zip(("old", "new"), wanted, strict=True):
            if one not in found:
                form.add_error(
                    name,
                    _("%(number)s has no revision %(one)s. Its latest is %(revision)s.")
                    % {"number": number, "one": one, "revision": loop.revision},
                )
    if form.is_valid():
        pair = [found[one] for one in wanted]
        table = ChangeTable(*pair)
        RequestConfig(request, paginate={"per_page": 50}).configure(table)
        values = [one.loop_value() for one in pair]
        drawn = [(one, diagram(value, changes=changes(*values))) for one, value in zip(pair, values, strict=True)]
    context = {"loop": loop, "form": form, "table": table, "pair": pair, "drawn": drawn}
    return render(request, "history/compare.html", context)
