"""Drawings as they are kept: read from a file, held against the register and against their earlier readings."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _

from register.exchange.dexpi.comparing import Difference, Fact, Kind, compare
from register.exchange.dexpi.drawing import Drawing, from_json
from register.exchange.dexpi.reading import read_drawing
from register.exchange.dexpi.standing import what_stands
from register.exchange.foreign.standing import squeezed
from register.models import DrawingReading, User
from register.services.drawings import keep_reading


def keep(data: bytes, file_name: str, *, by: User) -> DrawingReading:
    """Read a P&ID and keep what it says. Raises NotAllowed, or NotADrawing."""
    drawing = read_drawing(data, file_name)
    return keep_reading(
        data, drawing.as_json(), drawing=drawing.name, revision=drawing.revision, file_name=file_name, by=by
    )


def differences_of(reading: DrawingReading) -> list[Difference]:
    """Drawing against register. Of a tag that is gone it is said which other drawing now holds it."""
    drawing = from_json(reading.said)
    before = reading.others().filter(read_at__lte=reading.read_at)
    earlier = [from_json(said) for said in before.values_list("said", flat=True)]
    found = compare(drawing, earlier, what_stands([drawing, *earlier]))
    gone = {squeezed(one.subject) for one in found if (one.kind, one.fact) == (Kind.GONE, Fact.TAG)}
    moved = _elsewhere(drawing, gone) if gone else {}
    return [
        replace(one, drawn=_("on drawing %(name)s") % {"name": moved[squeezed(one.subject)]})
        if one.kind is Kind.GONE and squeezed(one.subject) in moved
        else one
        for one in found
    ]


def _elsewhere(drawing: Drawing, tags: set[str]) -> dict[str, str]:
    """The other drawing on which each of these tags stands by its latest reading."""
    found = {}
    latest = DrawingReading.objects.exclude(drawing=drawing.name).latest_of_each()
    for name, said in latest.values_list("drawing", "said").iterator(chunk_size=20):
        on_it = {squeezed(one.tag) for one in from_json(said).functions}
        found |= dict.fromkeys(tags & on_it, name)
    return found
