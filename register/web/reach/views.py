from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from register.services.permissions import May
from register.web.permissions import permitted
from register.web.reach.forms import FailureForm


@permitted(May.READ)
def what_stops(request: HttpRequest) -> HttpResponse:
    """Every loop, alarm and trip that one failure touches."""
    form = FailureForm(request.GET)
    context: dict = {"form": form}
    if form.is_valid() and form.given:
        context["failure"], context["reached"] = form.followed()
    return render(request, "reach/what_stops.html", context, status=422 if form.errors else 200)
