"""What spares the plant should hold, worked out from what is installed, what failed and what lies in store.

The tables are read in a fixed number of queries; the arithmetic is that of :mod:`register.calc.spares`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.db.models import Count, Sum

from register.calc import reliability, spares
from register.calc.reliability import MOST_FAILURES, WEIGHT_YEARS, Rate
from register.loading import load_models
from register.models import (
    Asset,
    BoardFitting,
    CatalogueModel,
    Installation,
    PlannedMovement,
    PlantSettings,
    StockLine,
)
from register.plant.interchange import why_not_instead
from register.plant.values import FittedBoard, Model
from register.plant.words import AssetState, Condition, Criticality, PlannedKind

FAILED = (Condition.FAULTY, Condition.BEYOND_REPAIR)


@dataclass
class Spare:
    """One model: what of it is installed, ran and failed, and what of it lies in the store."""

    row: CatalogueModel
    places: dict[tuple[int, str], int] = field(
        default_factory=lambda: defaultdict(int)
    )  # (area, criticality) → how many
    controllers: dict[int, int] = field(
        default_factory=lambda: defaultdict(int)
    )  # of a board: controller model → ditto
    years: float = 0.0
    failures: int = 0
    in_store: int = 0
    minimum: int = 0
    on_order: int = 0
    reserved: int = 0
    overdue: int = 0  # of what is on order: expected before today

    def __str__(self) -> str:
        return str(self.row)

    @property
    def installed(self) -> int:
        return sum(self.places.values())

    @property
    def weight_years(self) -> float:
        stated = self.row.failure_rate_weight_years
        return float(stated) if stated and stated > 0 else WEIGHT_YEARS

    @cached_property
    def rate(self) -> Rate | None:
        """Failures of one per year of service, after what the plant saw itself; None without a catalogue's figure."""
        prior = self.row.failure_rate_per_year
        if not prior or prior <= 0:
            return None
        return reliability.updated_rate(float(prior), self.failures, self.years, prior_years=self.weight_years)

    @property
    def position(self) -> int:
        """In store and on order, less what is reserved."""
        return self.in_store + self.on_order - self.reserved

    @property
    def free(self) -> int:
        """In store and not reserved."""
        return max(0, self.in_store - self.reserved)


@dataclass
class Holding:
    """A spare to be held for its own places and for those of the models that it stands in for: counted once for all."""

    spare: Spare
    levels: dict[str, float]
    others: list[Spare] = field(default_factory=list)

    @property
    def served(self) -> list[Spare]:
        return [self.spare, *self.others]

    @property
    def missing(self) -> list[str]:
        """What the catalogue must say before a stock can be worked out."""
        unrated = [one for one in self.served if one.installed and one.rate is None]
        lacking = ["its failure rate" if one is self.spare else f"the failure rate of {one}" for one in unrated]
        if self.spare.row.lead_time_days is None and self.places:
            lacking.append("its lead time")
        if not lacking and self.mean > MOST_FAILURES:
            lacking.append(f"a rate that can be: {self.mean:.0f} failures within the lead time cannot")
        return lacking

    @cached_property
    def places(self) -> dict[str, int]:
        """How many are installed, by criticality, the most critical first."""
        counts = dict.fromkeys(Criticality, 0)
        for served in self.served:
            for (_, criticality), count in served.places.items():
                counts[Criticality(criticality)] += count
        return {one: count for one, count in counts.items() if count}

    @property
    def criticality(self) -> str:
        """Of the most critical place; "" where nothing is installed."""
        return next(iter(self.places), "")

    @property
    def level(self) -> float:
        """The service level asked for: that of the most critical place."""
        return self.levels[self.criticality] if self.places else 0.0

    @property
    def weight(self) -> float:
        """How much a wait counts, on the average of the places."""
        total = sum(self.places.values())
        counted = sum(count * spares.weight_of_level(self.levels[one]) for one, count in self.places.items())
        return counted / total if total else 0.0

    def mean_of(self, served: Spare) -> float:
        """Mean failures of one model within the lead time of the spare."""
        if not served.installed or served.rate is None:
            return 0.0
        hours = (self.spare.row.lead_time_days or 0) * 24
        return reliability.lead_time_demand(served.installed, spares.mtbf_h(served.rate.mean), hours)

    @property
    def mean(self) -> float:
        return sum(self.mean_of(one) for one in self.served)

    @cached_property
    def demand(self) -> spares.Demand:
        """Of the lead time: what the others' own stock meets is not asked of this one."""
        alone = [one for one in self.others if one.position <= 0]
        first = self.mean_of(self.spare) + sum(self.mean_of(one) for one in alone)
        backed = [spares.demand_of(self.mean_of(one), one.position) for one in self.others if one.position > 0]
        return spares.together([spares.demand_of(first), *backed])

    @property
    def known(self) -> bool:
        return not self.missing

    @property
    def by_level(self) -> int:
        """The stock that the service level asks for."""
        return spares.stock_for(self.demand, self.level)

    @property
    def minimum(self) -> int:
        """What was set by hand for all of them, less what the others have themselves."""
        return self.spare.minimum + sum(max(0, one.minimum - max(0, one.position)) for one in self.others)

    @cached_property
    def needed(self) -> int:
        return max(self.minimum, self.by_level if self.known else 0)

    @property
    def short(self) -> int:
        return max(0, self.needed - self.spare.position)

    @property
    def surplus(self) -> int:
        return max(0, self.spare.position - self.needed) if self.known else 0

    @property
    def risk(self) -> float | None:
        """The chance that a failure within the lead time finds no spare; None where it cannot be told."""
        return spares.chance_of_more(self.demand, self.spare.position) if self.known and self.places else None

    @property
    def cost(self) -> Decimal | None:
        """Of what is short; None where the price is not recorded."""
        return None if self.spare.row.price is None else self.short * self.spare.row.price


@dataclass
class Store:
    """All spares of the plant, and the one that is held for each."""

    spares: dict[int, Spare]
    holdings: dict[int, Holding]  # by the primary key of the spare held
    held_as: dict[int, int]  # model → the model that is held for it
    stand_ins: dict[int, list[int]]  # model → what could stand in for it by the data sheets
    levels: dict[str, float]  # the service level asked for, by criticality

    def holding_of(self, pk: int) -> Holding:
        return self.holdings[self.held_as[pk]]


def work_out(*, today: date) -> Store:
    """The spares of the whole plant, in a fixed number of queries."""
    settings = PlantSettings.objects.first() or PlantSettings()
    levels = {str(one): level for one, level in settings.service_levels.items()}
    rows = CatalogueModel.objects.select_related("family", "successor").order_by("maker", "name")
    found = {row.pk: Spare(row) for row in rows}
    _count_places(found)
    _count_service(found, today)
    _count_stock(found, today)
    stand_ins = _stand_ins(found, load_models())
    held_as = _held_as(found, levels, stand_ins)
    holdings = {pk: Holding(found[pk], levels) for pk in found if held_as[pk] == pk}
    for pk, spare_pk in held_as.items():
        if pk != spare_pk:
            holdings[spare_pk].others.append(found[pk])
    return Store(found, holdings, held_as, stand_ins, levels)


def _count_places(found: dict[int, Spare]) -> None:
    at_tags = Installation.objects.current().order_by()
    rows = at_tags.values_list("asset__model", "tag__loop__area", "tag__loop__criticality").annotate(n=Count("pk"))
    for model, area, criticality, count in rows:
        found[model].places[area, criticality] += count
    place = "controller__installations__tag__loop"
    in_bays = BoardFitting.objects.current().order_by().filter(controller__installations__to_date__isnull=True)
    rows = in_bays.exclude(controller__installations=None).values_list(
        "model", f"{place}__area", f"{place}__criticality", "controller__model"
    )
    for model, area, criticality, controller, count in rows.annotate(n=Count("pk")):
        found[model].places[area, criticality] += count
        found[model].controllers[controller] += count


def _count_service(found: dict[int, Spare], today: date) -> None:
    """Years in service and failures. A board runs while its controller stands at a tag."""
    ran = Installation.objects.order_by().values_list("asset__model", "from_date", "to_date", "condition_out")
    for model, start, end, condition, count in ran.annotate(n=Count("pk")):
        found[model].years += count * _years(start, end or today)
        found[model].failures += count * (condition in FAILED)
    boards = BoardFitting.objects.order_by()
    for model, count in boards.filter(condition_out__in=FAILED).values_list("model").annotate(n=Count("pk")):
        found[model].failures += count
    stood = "controller__installations"
    ran = boards.exclude(**{stood: None}).values_list(
        "model", "from_date", "to_date", f"{stood}__from_date", f"{stood}__to_date"
    )
    for model, start, end, since, until, count in ran.annotate(n=Count("pk")):
        found[model].years += count * _years(max(start, since), min(end or today, until or today))


def _years(start: date, end: date) -> float:
    return max(0, (end - start).days) / spares.DAYS_PER_YEAR


def _count_stock(found: dict[int, Spare], today: date) -> None:
    lines = StockLine.objects.order_by().values_list("model").annotate(lie=Sum("quantity"), least=Sum("minimum"))
    for model, quantity, minimum in lines:
        found[model].in_store += quantity
        found[model].minimum += minimum
    items = Asset.objects.filter(state=AssetState.IN_STORE).order_by().values_list("model").annotate(n=Count("pk"))
    for model, count in items:
        found[model].in_store += count
    for one in PlannedMovement.objects.open():
        spare = found[one.model_id]
        if one.kind == PlannedKind.RESERVED:
            spare.reserved += one.outstanding
        else:
            spare.on_order += one.outstanding
            spare.overdue += one.outstanding * (one.expected_on < today)


def _stand_ins(found: dict[int, Spare], models: dict[int, Model]) -> dict[int, list[int]]:
    """For each model in use, the models still made that could stand in for it, with all boards that it holds."""
    by_kind = defaultdict(list)
    for pk, spare in found.items():
        if not spare.row.obsolete:
            by_kind[spare.row.kind].append(pk)
    able = {}
    for pk, spare in found.items():
        if spare.installed:
            others = (one for one in by_kind[spare.row.kind] if one != pk)
            able[pk] = [one for one in others if not any(why_not_instead(models[one], models[pk]))]
    fitted = _boards_in_use([pk for pk, others in able.items() if others], models)
    return {
        pk: [one for one in others if not any(why_not_instead(models[one], models[pk], fitted[pk]))]
        for pk, others in able.items()
    }


def _boards_in_use(controllers: list[int], models: dict[int, Model]) -> dict[int, set[tuple[FittedBoard, ...]]]:
    """The sets of boards with which installed controllers of these models are fitted."""
    inside = defaultdict(list)
    fittings = BoardFitting.objects.current().filter(
        controller__model__in=controllers, controller__installations__to_date__isnull=True
    )
    of_each = fittings.exclude(controller__installations=None).order_by("controller", "bay")
    for controller, model, bay, board in of_each.values_list("controller", "controller__model", "bay", "model"):
        inside[controller, model].append((bay, board))
    sets = defaultdict(set)
    for (_, model), boards in inside.items():
        sets[model].add(tuple(boards))
    return defaultdict(
        set,
        {
            model: {tuple(FittedBoard(bay=bay, model=models[board]) for bay, board in one) for one in of_model}
            for model, of_model in sets.items()
        },
    )


def _held_as(found: dict[int, Spare], levels: dict[str, float], stand_ins: dict[int, list[int]]) -> dict[int, int]:
    """Which model is held for each: itself, an obsolete one's successor, or a stand-in where that costs no more."""
    held = {pk: pk for pk in found}
    serving = set()
    for pk, spare in found.items():
        if spare.installed and spare.row.obsolete and (successor := _made_successor(found, pk)) is not None:
            held[pk] = successor
            serving.add(successor)
    for pk in sorted(stand_ins, key=lambda pk: found[pk].installed):
        if held[pk] == pk and pk not in serving:
            able = [one for one in stand_ins[pk] if held[one] == one]
            if (best := min(_pooled(found, levels, pk, able), default=None)) is not None:
                held[pk] = best[1]
                serving.add(best[1])
    return held


def _made_successor(found: dict[int, Spare], pk: int) -> int | None:
    """The first of the successors that is still made."""
    met = {pk}
    at = found[pk].row.successor_id
    while at is not None and at not in met:
        if not found[at].row.obsolete:
            return at
        met.add(at)
        at = found[at].row.successor_id
    return None


def _pooled(
    found: dict[int, Spare], levels: dict[str, float], pk: int, stand_ins: Iterable[int]
) -> Iterator[tuple[Decimal, int]]:
    """Cost of one stock for both and the model to hold, where it is no dearer than a stock of each."""
    alone = Holding(found[pk], levels)
    for other in stand_ins:
        apart, both = Holding(found[other], levels), Holding(found[other], levels, [found[pk]])
        prices = alone.spare.row.price, apart.spare.row.price
        if None in prices or not (alone.known and both.known):
            continue
        cost = both.needed * prices[1]
        if cost <= alone.needed * prices[0] + apart.needed * prices[1]:
            yield cost, other


def buyables(store: Store) -> list[spares.Buyable]:
    """What can be bought to lower the risk: spares in use whose price, lead time and failure rate are known."""
    return [
        spares.Buyable(str(pk), float(one.spare.row.price), one.demand, one.spare.position, one.weight)
        for pk, one in store.holdings.items()
        if one.known and one.places and (one.spare.row.price or 0) > 0 and not one.spare.row.obsolete
    ]
