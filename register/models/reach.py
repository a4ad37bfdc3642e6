"""What else stops: followed along the links, from whatever fails, in a number of queries set by the depth alone.

What follows from a failure: a tag without its measurement, its output signal or its supply stops too; a tag without a
remote set point, a digital input or a receiver works on, but without it; and a controller whose inner loop stops can no
longer do its work.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from django.db.models import Q, QuerySet

from register.models.assets import Asset, BoardFitting
from register.models.cables import Core
from register.models.loops import Alarm, Link, Loop, Port, Settings, SettingsKind, Tag
from register.plant.words import Criticality, Purpose

STOPPING = {Purpose.MEASUREMENT, Purpose.CONTROL, Purpose.COOLING_CONTROL, Purpose.TRANSMITTER_SUPPLY}
"""Without these a tag does not work at all."""

DEPTH = 10
"""Links followed one after another; a chain from sensor to the last loop of a cascade is shorter."""


NOTHING = Q(pk__in=())


@dataclass
class LoopReached:
    """A loop that the failure touches: what happens at which tag of it, and the alarms that are lost."""

    loop: Loop
    effects: list[tuple[str, str]] = field(default_factory=list)
    alarms: list[Alarm] = field(default_factory=list)

    @property
    def trips(self) -> list[Alarm]:
        return [alarm for alarm in self.alarms if alarm.trip]


def when_asset_fails(asset: Asset) -> list[LoopReached]:
    """Of an asset at a tag: the tag. Of a board: what its bay gives to the tag where its controller stands."""
    if standing := asset.installations.current().values_list("tag_id", flat=True).first():
        return _followed(stopped={standing: f"stops: {asset} stands here"})
    fitted = BoardFitting.objects.current().filter(board=asset, controller__installations__to_date__isnull=True)
    found = fitted.values_list("controller__installations__tag_id", "bay").first()
    return when_board_fails(*found) if found and found[0] else []


def when_tag_fails(tag: Tag) -> list[LoopReached]:
    """Of whatever stands at a tag."""
    return _followed(stopped={tag.pk: "stops"})


def when_board_fails(tag: int, bay: str) -> list[LoopReached]:
    """Of the board in a bay of the controller at a tag."""
    ports = dict(Port.objects.filter(tag=tag, bay=bay).values_list("pk", "name"))
    if not ports:
        return []
    return _followed(
        effects={tag: [f"loses {', '.join(ports.values())} in bay {bay}"]},
        broken=Link.objects.filter(Q(source__in=ports) | Q(target__in=ports)),
        alarms=Q(output__in=ports),
    )


def when_cable_fails(cable: str) -> list[LoopReached]:
    return _followed(broken=Link.objects.filter(pk__in=Core.objects.filter(cable__name=cable).values("link")))


def when_terminal_fails(place: str, terminal: str) -> list[LoopReached]:
    at = Q(from_place=place, from_terminal=terminal) | Q(to_place=place, to_terminal=terminal)
    return _followed(broken=Link.objects.filter(pk__in=Core.objects.filter(at).values("link")))


def when_bus_fails(bus: str) -> list[LoopReached]:
    """The stations work on and are no longer heard."""
    stations = Settings.objects.filter(kind=SettingsKind.REQUIRED, serial_bus=bus, tag__retired_on__isnull=True)
    return _followed(
        effects={tag: [f"is no longer heard on {bus}"] for tag in stations.values_list("tag_id", flat=True)}
    )


def _followed(
    *,
    stopped: dict[int, str] | None = None,
    effects: dict[int, list[str]] | None = None,
    broken: QuerySet[Link] | None = None,
    alarms: Q = NOTHING,
) -> list[LoopReached]:
    """Every loop that is touched when tags stop, tags suffer effects, links are broken and alarms are lost."""
    links = Link.objects.filter(source__tag__retired_on__isnull=True, target__tag__retired_on__isnull=True)
    links = links.order_by("target__tag__name", "pk")
    said = defaultdict(list, effects or {})
    said.update({tag: [effect] for tag, effect in (stopped or {}).items()})
    dead = set(stopped or {})
    cut = [] if broken is None else list(broken.values_list("pk", flat=True))
    frontier = Q(source__tag__in=dead) | Q(pk__in=cut)
    for _ in range(DEPTH):
        if not (stopping := _that_stop(links.filter(frontier).exclude(target__tag__in=stopped or ()), said) - dead):
            break
        dead |= stopping
        frontier = Q(source__tag__in=stopping)
    setting = links.filter(target__purpose=Purpose.REMOTE_SET_POINT)
    frontier = Q(target__tag__in=dead) | Q(pk__in=cut)
    for _ in range(DEPTH):
        if not (outer := _that_set(setting.filter(frontier), said)):
            break
        frontier = Q(target__tag__in=outer)
    return _by_loop(said, alarms | Q(tag__in=dead))


def _that_stop(links: QuerySet[Link], said: dict[int, list[str]]) -> set[int]:
    """Say what the target of each link loses; the tags that stop for it."""
    stopping = set()
    for target, source, purpose in links.values_list("target__tag_id", "source__tag__name", "target__purpose"):
        effect = f"loses its {purpose} from {source}"
        if effect not in said[target]:
            said[target].append(effect)
        if purpose in STOPPING:
            stopping.add(target)
    return stopping


def _that_set(links: QuerySet[Link], said: dict[int, list[str]]) -> set[int]:
    """Say of the source of each link that it no longer sets its target's set point; the tags of which it was news."""
    outer = set()
    for source, target in links.values_list("source__tag_id", "target__tag__name"):
        if source not in said:
            outer.add(source)
        if (effect := f"no longer sets {target}") not in said[source]:
            said[source].append(effect)
    return outer


def _by_loop(said: dict[int, list[str]], alarms: Q) -> list[LoopReached]:
    """The most critical loops first."""
    found: dict[int, LoopReached] = {}
    for tag in Tag.objects.filter(pk__in=said).select_related("loop__area").order_by("name"):
        reached = found.setdefault(tag.loop_id, LoopReached(tag.loop))
        reached.effects += [(tag.name, effect) for effect in said[tag.pk]]
    for alarm in Alarm.objects.filter(alarms, tag__in=said).select_related("tag").order_by("tag__name", "pk"):
        found[alarm.tag.loop_id].alarms.append(alarm)
    rank = list(Criticality)
    return sorted(found.values(), key=lambda one: (rank.index(one.loop.criticality), one.loop.number))
