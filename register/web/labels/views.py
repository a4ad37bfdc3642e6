"""QR labels for tags and assets, and the short addresses that stand in them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _

from register.models import Asset, PlantSettings, Tag
from register.services.permissions import May
from register.sheets.pdf import html_to_pdf, printed_html
from register.sheets.qr import qr_data_uri
from register.web.assets.filters import AssetFilter
from register.web.permissions import permitted
from register.web.tags.filters import TagFilter

MOST = 480
"""Labels in one document: twenty sheets."""


@dataclass(frozen=True)
class Label:
    name: str
    lines: tuple[str, ...]
    address: str

    @property
    def code(self) -> str:
        return qr_data_uri(self.address)


@permitted(May.READ)
def tags(request: HttpRequest) -> HttpResponse:
    """A label for every tag that the filters of the tags' list choose, or for the one with a ``name``."""
    chosen = TagFilter(request.GET, queryset=Tag.objects.in_service().with_installed()).qs
    if name := request.GET.get("name"):
        chosen = chosen.filter(name=name)
    made = (
        Label(one.name, (one.description or one.loop.service, one.place), _address(request, "labels:tag", one.name))
        for one in chosen.order_by("name")[: MOST + 1]
    )
    return _sheet(made, "Tag labels", "tag-labels.pdf")


@permitted(May.READ)
def assets(request: HttpRequest) -> HttpResponse:
    """A label for every asset that the filters of the assets' list choose, or for the one with a ``code``."""
    chosen = AssetFilter(request.GET, queryset=Asset.objects.with_place()).qs
    if code := request.GET.get("code"):
        chosen = chosen.filter(code=code)
    made = (
        Label(one.code, (str(one.model), f"Serial {one.serial}"), _address(request, "labels:asset", one.code))
        for one in chosen.order_by("code")[: MOST + 1]
    )
    return _sheet(made, "Asset labels", "asset-labels.pdf")


def _address(request: HttpRequest, page: str, name: str) -> str:
    return request.build_absolute_uri(reverse(page, args=[name]))


def _sheet(labels: Iterable[Label], title: str, filename: str) -> HttpResponse:
    labels = list(labels)
    if not labels or len(labels) > MOST:
        why = f"More than {MOST} labels" if labels else "Nothing"
        said = _("%(why)s would be printed. Choose with the list's filters, then print again.") % {"why": why}
        return HttpResponse(said, status=422, content_type="text/plain; charset=utf-8")
    plant = PlantSettings.objects.values_list("name", flat=True).first() or ""
    document = printed_html("labels/sheet.html", {"labels": labels, "title": title, "plant_name": plant})
    disposition = content_disposition_header(as_attachment=False, filename=filename)
    return HttpResponse(
        html_to_pdf(document), content_type="application/pdf", headers={"Content-Disposition": disposition}
    )


@permitted(May.READ)
def tag(request: HttpRequest, name: str) -> HttpResponse:
    """Where a tag's label leads: its page at the panel, or what is left of it once it is retired."""
    row = get_object_or_404(Tag, name=name)
    return redirect("tags:detail" if row.retired_on else "panel:panel", row.name)


@permitted(May.READ)
def asset(request: HttpRequest, code: str) -> HttpResponse:
    """Where an asset's identification link leads (IEC 61406-1: one address for one item, for ever)."""
    return redirect("assets:detail", get_object_or_404(Asset, code=code).code)
