"""Open to everybody: nothing here shows or changes the register."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from register.web.calculators.base import Calculator
from register.web.calculators.forms import CALCULATORS, SensorCalculator
from register.web.calculators.reference import themes


@login_not_required
@require_safe
@vary_on_headers("HX-Request")
def calculator(request: HttpRequest, of: type[Calculator]) -> HttpResponse:
    """A calculator with its answers; the answers alone for a page that is open already."""
    form = of.asked(request.GET)
    others = [one for one in CALCULATORS if one is not SensorCalculator]
    template = "calculators/update.html" if request.htmx else of.template_name_of_page
    return render(request, template, {"form": form, "others": others})


@login_not_required
@require_safe
def reference(request: HttpRequest) -> HttpResponse:
    """Every calculation of the register, with its source."""
    return render(request, "calculators/reference.html", {"themes": themes()})
