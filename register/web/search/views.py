"""One box for the whole register: tags, loops, assets and models by any part of what names them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any
from urllib.parse import urlencode

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.models import Asset, CatalogueModel, Loop, Tag, UserRole
from register.services.permissions import May
from register.web.permissions import permitted

SHOWN = 10
"""Hits of a kind that the page shows; the rest stands in that kind's list."""


@dataclass(frozen=True)
class Hit:
    name: str
    detail: str
    url: str


@dataclass(frozen=True)
class Group:
    """Hits of one kind; ``more`` leads to the list of all of them where there are more."""

    heading: str
    hits: list[Hit]
    more: str


def loop_hit(loop: Loop) -> Hit:
    detail = _joined(loop.service, loop.area, loop.retired_on and "retired")
    return Hit(loop.number, detail, reverse("loops:detail", args=[loop.number]))


def tag_hit(tag: Tag, *, at_panel: bool = False) -> Hit:
    """A tag; ``at_panel`` leads to the page for work at it, as long as it is in service."""
    detail = _joined(tag.role, tag.description, f"loop {tag.loop}", tag.retired_on and "retired")
    page = "panel:panel" if at_panel and not tag.retired_on else "tags:detail"
    return Hit(tag.name, detail, reverse(page, args=[tag.name]))


def asset_hit(asset: Asset) -> Hit:
    where = f"at {asset.tag_name}" if asset.tag_name else asset.state
    detail = _joined(asset.model, f"serial {asset.serial}", where)
    return Hit(asset.code, detail, reverse("assets:detail", args=[asset.code]))


def model_hit(model: CatalogueModel) -> Hit:
    detail = _joined(model.kind, model.description, model.obsolete and "obsolete")
    return Hit(str(model), detail, reverse("catalogue:detail", args=[model.pk]))


def _joined(*parts: object) -> str:
    return ", ".join(str(part) for part in parts if part)


@permitted(May.READ)
def search(request: HttpRequest) -> HttpResponse:
    """What the words name, by kind; a single hit is opened at once. A technician's tags open at the panel."""
    words = request.GET.get("q", "").replace("\0", "").strip()  # PostgreSQL takes no text with a NUL in it
    groups = found(words, at_panel=request.user.role == UserRole.TECHNICIAN) if words else []
    hits = [hit for group in groups for hit in group.hits]
    if len(hits) == 1:
        return redirect(hits[0].url)
    return render(request, "search/results.html", {"search_words": words, "groups": groups})


def found(words: str, *, at_panel: bool = False) -> list[Group]:
    """The kinds of which something is named so."""
    tags = Tag.objects.named(words).select_related("loop")
    loops = Loop.objects.named(words).select_related("area")
    assets = Asset.objects.named(words).with_place()
    models = CatalogueModel.objects.matching(words)
    groups = (
        _group("Tags", tags, partial(tag_hit, at_panel=at_panel), "tags:list", words),
        _group("Loops", loops, loop_hit, "loops:list", words),
        _group("Assets", assets, asset_hit, "assets:list", words),
        _group("Models", models, model_hit, "catalogue:list", words),
    )
    return [group for group in groups if group.hits]


def _group(heading: str, rows: QuerySet, hit: Callable[[Any], Hit], listing: str, words: str) -> Group:
    first = list(rows[: SHOWN + 1])
    more = f"{reverse(listing)}?{urlencode({'q': words})}" if len(first) > SHOWN else ""
    return Group(heading, [hit(row) for row in first[:SHOWN]], more)
