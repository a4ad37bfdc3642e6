"""Work without a network: a device keeps the panel pages of an area, and what is typed on it is sent later."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import FileResponse, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from register.models import Area, Tag
from register.services.permissions import May
from register.web.permissions import permitted
from register.web.swaps.forms import OutForm

WORKER = Path(settings.BASE_DIR, "static", "js", "service-worker.js")
MOST_KEPT = 500
"""Panel pages that a device keeps: some 20 MB."""

ASSETS = ("css/register.css", "vendor/htmx/htmx.min.js", "js/register.js", "js/offline.js", "icons/bubble.svg")


@login_not_required
def worker(request: HttpRequest) -> FileResponse:
    """The script that answers for the register without a network: it has to lie above all pages that it answers for."""
    return FileResponse(WORKER.open("rb"), content_type="text/javascript", headers={"Cache-Control": "no-cache"})


@permitted(May.READ)
def page(request: HttpRequest) -> HttpResponse:
    """Choose an area to keep; without a network, what is kept."""
    areas = [(one, reverse("offline:area", args=[one.pk])) for one in Area.objects.all()]
    return render(request, "offline/page.html", {"areas": areas})


@require_safe  # its form is sent to the steps of the swap
@permitted(May.RECORD_WORK)
def swap(request: HttpRequest) -> HttpResponse:
    """A swap noted without a network: it becomes a draft once the device is back on one."""
    return render(request, "offline/swap.html", {"form": OutForm()})


@permitted(May.READ)
def area(request: HttpRequest, pk: int) -> JsonResponse:
    """What the device has to fetch to keep an area."""
    chosen = get_object_or_404(Area, pk=pk)
    tags = Tag.objects.in_service().filter(loop__area__in=Area.objects.within(chosen), loop__retired_on__isnull=True)
    names = list(tags.order_by("name").values_list("name", flat=True)[: MOST_KEPT + 1])
    if len(names) > MOST_KEPT:
        message = _("%(area)s has more than %(most)s tags. Keep a part of it.") % {"area": chosen, "most": MOST_KEPT}
        return JsonResponse({"message": message}, status=409)
    pages = [reverse("panel:panel", args=[name]) for name in names]
    return JsonResponse({"area": str(chosen), "tags": names, "pages": pages, "assets": [static(one) for one in ASSETS]})
