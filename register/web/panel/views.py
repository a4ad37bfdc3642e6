"""One tag as a technician at the panel needs it: a phone's page, no more than the work takes."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from register.loading import load_loop
from register.models import Finding, SwapDraft, Tag
from register.plant import values
from register.plant.cautions import cautions_for
from register.rules.engine import all_rules
from register.services.permissions import May
from register.sheets.checks import checks_of
from register.web.permissions import permitted
from register.web.recent import remember_tag

CHANGES_SHOWN = 3


@permitted(May.READ)
def panel(request: HttpRequest, name: str) -> HttpResponse:
    row = get_object_or_404(Tag.objects.select_related("loop__area"), name=name, retired_on__isnull=True)
    loop = load_loop(row.loop.number, today=timezone.localdate())
    tag = loop.tag(name)
    findings = Finding.objects.open().filter(loop=row.loop, subject=name).by_urgency().select_related("concession__by")
    context = {
        "row": row,
        "loop": loop,
        "tag": tag,
        "checks": [one for one in checks_of(loop) if one.tag == name],
        "wires": list(wires(loop, tag)),
        "findings": [(one, all_rules().get(one.rule)) for one in findings],
        "revisions": row.loop.revisions.listed()[:CHANGES_SHOWN],
        "draft": SwapDraft.objects.open().filter(by=request.user, tag=row).first(),
        "cautions": cautions_for(loop, [tag]),
    }
    return remember_tag(request, render(request, "panel/panel.html", context), name)


@dataclass(frozen=True)
class Wire:
    """One conductor at this tag: its port and terminal here, and where it goes."""

    port: str
    terminal: str
    colour: str
    polarity: str
    cable: str
    core: str
    far_place: str
    far_terminal: str
    far_tag: str


def wires(loop: values.Loop, tag: values.Tag):
    """Every conductor on the tag's ports, in the order of its ports; a link without cores gives one without."""
    order = {port.name: place for place, port in enumerate(tag.ports)}
    made = []
    for one in loop.connections():
        if one.target_tag is tag:
            made += [_wire(one.target.name, core, one.source_tag.name, here="to") for core in one.link.cores or (None,)]
        elif one.source_tag is tag:
            made += [
                _wire(one.source.name, core, one.target_tag.name, here="from") for core in one.link.cores or (None,)
            ]
    return sorted(made, key=lambda wire: order.get(wire.port, 0))


def _wire(port: str, core: values.Core | None, far_tag: str, *, here: str) -> Wire:
    if core is None:
        return Wire(port, "", "", "", "", "", "", "", far_tag)
    near, far = (here, "from") if here == "to" else (here, "to")
    return Wire(
        port=port,
        terminal=getattr(core, f"{near}_terminal"),
        colour=core.colour,
        polarity=core.polarity,
        cable=core.cable.name,
        core=core.core,
        far_place=getattr(core, f"{far}_place"),
        far_terminal=getattr(core, f"{far}_terminal"),
        far_tag=far_tag,
    )
