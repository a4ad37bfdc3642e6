"""What to take along to a shutdown or into an area, and which critical places one failure would stop."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db import transaction
from django.db.models import Count

from register.calc import reliability, spares
from register.models import Asset, BoardFitting, Installation, Loop, StockLine, Tag, User
from register.plant.interchange import AT_THE_PROCESS
from register.plant.words import AssetState, Criticality, PlannedKind
from register.services.fits import Candidate, fits_from_store
from register.services.recording import Refused
from register.services.spares import Spare, Store
from register.services.stock import plan_movement

JUDGED_AT_MOST = 300
"""Tags for which the rules are asked what from the store would fit."""


@dataclass
class BarePlace:
    """A place whose part has no spare in the store: a tag, or a bay of the controller there (``bay``)."""

    tag: Tag
    part: Spare
    held: Spare
    bay: str = ""
    judged: bool = True
    fits: list[Candidate] = field(default_factory=list)  # from the store, by the rules


def one_failure_from_stopping(store: Store, loops: Iterable[Loop], *, today: date) -> list[BarePlace]:
    """The places of these loops whose part has no free spare in the store, the most critical first.

    Each comes with what else in the store would fit by the rules; at most :data:`JUDGED_AT_MOST` places are judged, the
    others say that they were not. At the process, where bore and connection decide, and in a bay nothing else counts.
    """
    bare = [pk for pk in store.spares if not _free(store, pk)]
    at_tags = Installation.objects.current().filter(asset__model__in=bare, tag__loop__in=loops)
    tags = {one.tag: one.asset.model_id for one in at_tags.select_related("tag__loop__area", "asset")}
    judgeable = sorted((tag for tag in tags if tag.role not in AT_THE_PROCESS), key=_urgency)
    judged = fits_from_store(judgeable[:JUDGED_AT_MOST], today=today)
    left_out = {tag.pk for tag in judgeable[JUDGED_AT_MOST:]}
    found = []
    for tag, model in tags.items():
        fits = [one for one in judged.get(tag.pk, ()) if store.spares[one.pk].free]
        found.append(BarePlace(tag, *_parts(store, model), judged=tag.pk not in left_out, fits=fits))
    in_bays = BoardFitting.objects.current().filter(
        model__in=bare, controller__installations__in=Installation.objects.current().filter(tag__loop__in=loops)
    )
    stands = dict(
        Installation.objects.current().filter(asset__in=in_bays.values("controller")).values_list("asset", "tag")
    )
    at = Tag.objects.select_related("loop__area").in_bulk(stands.values())
    for one in in_bays.order_by("controller", "bay"):
        found.append(BarePlace(at[stands[one.controller_id]], *_parts(store, one.model_id), bay=one.bay))
    return sorted(found, key=lambda place: (*_urgency(place.tag), place.bay))


def _urgency(tag: Tag) -> tuple[int, str]:
    return list(Criticality).index(Criticality(tag.loop.criticality)), tag.name


def _parts(store: Store, pk: int) -> tuple[Spare, Spare]:
    return store.spares[pk], store.holding_of(pk).spare


def _free(store: Store, pk: int) -> int:
    """What lies there for a model: of its own and of the spare that is held for it."""
    part, held = _parts(store, pk)
    return part.free + (held.free if held is not part else 0)


@dataclass
class KitLine:
    """So many of a model to take along to where so many are installed."""

    spare: Spare
    installed: int
    mean: float | None
    take: int
    at: list[str]
    free: int

    @property
    def lacking(self) -> int:
        return max(0, self.take - self.free)


def kit_for(store: Store, loops: Collection[int], *, days: int) -> list[KitLine]:
    """What to take along for these loops, to last so many days: one of each, more where failures ask for more.

    How many is the smallest number that meets the failures of those days with the service level of the most critical
    place among them (Poisson); at least one of each is common practice.
    """
    counts: dict[tuple[int, str], int] = defaultdict(int)
    at_tags = Installation.objects.current().filter(tag__loop__in=loops).order_by()
    for model, criticality, count in at_tags.values_list("asset__model", "tag__loop__criticality").annotate(
        n=Count("pk")
    ):
        counts[model, criticality] += count
    standing = dict(at_tags.values_list("asset", "tag__loop__criticality"))
    in_bays = BoardFitting.objects.current().filter(controller__in=at_tags.values("asset"))
    for model, controller in in_bays.order_by().values_list("model", "controller"):
        counts[model, standing[controller]] += 1
    installed, critical = defaultdict(int), {}
    for (model, criticality), count in counts.items():
        installed[model] += count
        critical.setdefault(model, set()).add(criticality)
    where = _where(installed)
    lines = []
    for pk in installed:
        spare = store.spares[pk]
        level = max(store.levels[one] for one in critical[pk])
        mean = None
        if spare.rate is not None:
            mean = reliability.lead_time_demand(installed[pk], spares.mtbf_h(spare.rate.mean), days * 24)
        take = 1 if mean is None else max(1, reliability.stock_for_level(mean, level))
        take = min(take, installed[pk])
        lines.append(KitLine(spare, installed[pk], mean, take, where[pk], spare.free))
    return sorted(lines, key=lambda line: (line.spare.row.kind, line.spare.row.maker, line.spare.row.name))


def _where(models: Collection[int]) -> dict[int, list[str]]:
    """The store places of what lies there, each with how many or which item."""
    where = defaultdict(list)
    for line in StockLine.objects.filter(model__in=models, quantity__gt=0).order_by("store_place"):
        where[line.model_id].append(f"{line.store_place}: {line.quantity}")
    stored = Asset.objects.filter(model__in=models, state=AssetState.IN_STORE).order_by("code")
    for asset in stored:
        where[asset.model_id].append(f"{asset.store_place or asset.state}: {asset.code}")
    return where


def reserve_kit(lines: Iterable[KitLine], *, reference: str, made_on: date, expected_on: date, by: User) -> int:
    """Keep back what of a kit lies free in the store, all or nothing. Returns how many pieces; raises Refused."""
    wanted = [(line.spare.row, min(line.take, line.free)) for line in lines if line.free]
    if not wanted:
        raise Refused("Nothing of this kit lies free in the store, so there is nothing to keep back.")
    with transaction.atomic():
        for model, quantity in wanted:
            plan_movement(
                model,
                PlannedKind.RESERVED,
                reference=reference,
                quantity=quantity,
                made_on=made_on,
                expected_on=expected_on,
                by=by,
            )
    return sum(quantity for _, quantity in wanted)
