from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString

from register.loading import load_loops
from register.models.reach import LoopReached
from register.plant.words import Severity
from register.rules.engine import Verdict, finding
from register.services.permissions import May
from register.web.parts.diagrams import diagram
from register.web.permissions import permitted
from register.web.reach.forms import FailureForm

DRAWN = 4
"""Loops whose diagram is drawn: the most critical ones; the others are a click away."""


@permitted(May.READ)
def what_stops(request: HttpRequest) -> HttpResponse:
    """Every loop, alarm and trip that one failure touches, as a list and on the diagrams."""
    form = FailureForm(request.GET)
    context: dict = {"form": form}
    if form.is_valid() and form.given:
        context["failure"], reached = form.followed()
        context["reached"] = reached
        context["drawings"] = drawings(reached[:DRAWN])
    return render(request, "reach/what_stops.html", context)


def drawings(reached: list[LoopReached]) -> list[tuple[str, SafeString]]:
    """Each loop's number and its diagram, with a flag at every tag that the failure touches."""
    loops = load_loops([one.loop.pk for one in reached])
    return [(one.loop.number, diagram(loops[one.loop.pk], flagged(one))) for one in reached]


def flagged(reached: LoopReached) -> list[Verdict]:
    effects = [
        finding(tag, "{effect}", place=str(place), effect=effect) for place, (tag, effect) in enumerate(reached.effects)
    ]
    return [Verdict("what-stops", Severity.WARNING, one) for one in effects]
