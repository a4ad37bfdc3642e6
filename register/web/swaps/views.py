"""What could replace an instrument or take a board, and the swap itself, step by step."""

from __future__ import annotations

from datetime import datetime
from types import EllipsisType
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from register.models import CatalogueModel, Tag
from register.plant.words import ModelKind
from register.services import drafts, fits
from register.services.permissions import May
from register.services.recording import Refused, StaleLoop
from register.services.what_if import what_if
from register.web.permissions import permitted
from register.web.swaps.steps import REVIEW, TITLES, Swap

KEPT_AT = "kept-at"
"""Sent with what was typed without a network: see static/js/offline.js."""

BAYS_A_PAGE = 20
"""Bays judged and shown together: each takes a check of its loop."""


def tag_in_service(name: str) -> Tag:
    return get_object_or_404(Tag.objects.select_related("loop"), name=name, retired_on__isnull=True)


@permitted(May.READ)
def what_fits(request: HttpRequest, name: str) -> HttpResponse:
    """Every item of the store and every model of the tag's kind, the best fit first."""
    tag = tag_in_service(name)
    candidates = fits.what_fits(tag, today=timezone.localdate())
    context = {
        "tag": tag,
        "at_hand": [one for one in candidates if one.at_hand],
        "to_order": [one for one in candidates if not one.at_hand],
    }
    return render(request, "swaps/what_fits.html", context)


@permitted(May.READ)
def where_it_fits(request: HttpRequest, pk: int) -> HttpResponse:
    """Every empty bay of the plant and every controller of the catalogue that takes a board."""
    board = get_object_or_404(CatalogueModel.objects.select_related("family"), pk=pk, kind=ModelKind.OPTION_BOARD)
    page = Paginator(fits.bays_that_take(board), BAYS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "board": board,
        "page": page,
        "bays": fits.judged(board, page.object_list, today=timezone.localdate()),
        "models": fits.models_that_take(board),
    }
    return render(request, "swaps/where_it_fits.html", context)


@permitted(May.RECORD_WORK)
def replace(request: HttpRequest, name: str, step: str = "out") -> HttpResponse:
    """One step of a swap. What is typed is kept as it is typed; the next step opens once this one is right."""
    if step not in TITLES:
        raise Http404(f"A swap has no step {step}.")
    tag = tag_in_service(name)
    if request.method == "POST":
        typed = {key: text for key, text in request.POST.items() if key not in ("csrfmiddlewaretoken", KEPT_AT)}
        try:
            draft = drafts.keep_step(tag, step, typed, by=request.user, on_top_of=_typed_on(request))
        except drafts.KeptElsewhere:
            return HttpResponse(status=409)
        if request.htmx:
            return HttpResponse(status=204, headers={"Kept-At": draft.kept_at.isoformat()})
    swap = Swap(tag, drafts.swap_draft(tag, by=request.user))
    if step not in swap.steps:
        return redirect("swaps:step", name, "in")
    wrong = swap.complain(step)
    if request.method == "POST" and not wrong:
        following = swap.after(step)
        return redirect("swaps:review", name) if following == REVIEW else redirect("swaps:step", name, following)
    context = _context(swap, step) | {"form": swap.form[step]}
    return render(request, f"swaps/step_{step}.html", context)


def _typed_on(request: HttpRequest) -> datetime | None | EllipsisType:
    """When the draft was kept on which this was typed without a network; anything but a time takes it as it is."""
    if KEPT_AT not in request.POST:
        return ...
    said = request.POST[KEPT_AT]
    return (parse_datetime(said) or ...) if said else None


def _context(swap: Swap, step: str) -> dict:
    steps = [(one, TITLES[one]) for one in swap.steps]
    return {"swap": swap, "tag": swap.tag, "step": step, "steps": steps, "title": TITLES.get(step, "Check and save")}


@permitted(May.RECORD_WORK)
def review(request: HttpRequest, name: str) -> HttpResponse:
    """What the swap would change; sent, it is recorded, once however often it is sent."""
    tag = tag_in_service(name)
    if request.method == "POST" and (done := _recorded(request, tag)) is not None:
        return done
    swap = Swap(tag, drafts.swap_draft(tag, by=request.user))
    if (unfinished := swap.unfinished) is not None:
        return redirect("swaps:step", name, unfinished)
    context = _context(swap, REVIEW)
    context["objections"] = [(one, swap.step_of(one.field)) for one in swap.objections]
    try:
        context["preview"] = None if swap.objections else what_if(lambda: swap.write(request.user))
    except StaleLoop as stale:
        drafts.see_revision(swap.draft, stale.now)
        context["stale"] = stale
        context["preview"] = what_if(lambda: swap.write(request.user))
    except (Refused, ValidationError) as refusal:
        context["refusal"] = _said(refusal)
    return render(request, "swaps/review.html", context)


def _recorded(request: HttpRequest, tag: Tag) -> HttpResponse | None:
    """Record the swap and show the panel; None where the review must be shown again, which says why."""
    try:
        token = UUID(request.POST.get("token", ""))
        revision = drafts.record_once(token, lambda draft: Swap(tag, draft).write(request.user), by=request.user)
    except (ValueError, KeyError, StaleLoop, ValidationError):
        return None
    except Refused as refusal:
        messages.error(request, str(refusal))
        return None
    messages.success(
        request,
        _("The swap is recorded: revision %(number)s of %(loop)s.") % {"number": revision.number, "loop": tag.loop},
    )
    return redirect("panel:panel", tag.name)


def _said(refusal: Exception) -> str:
    return " ".join(refusal.messages) if isinstance(refusal, ValidationError) else str(refusal)


@permitted(May.RECORD_WORK)
def discard(request: HttpRequest, name: str) -> HttpResponse:
    """Give a swap up; asked for, then done."""
    tag = tag_in_service(name)
    if request.method == "POST":
        drafts.discard(tag, by=request.user)
        messages.info(request, _("The unfinished swap at %(name)s was given up. Nothing was changed.") % {"name": name})
        return redirect("panel:panel", name)
    return render(request, "swaps/discard.html", {"tag": tag})
