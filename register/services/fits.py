"""What from the store or the catalogue could take a tag's place: the rules judge the loop as it would be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Exists, F, OuterRef, QuerySet
from msgspec.structs import replace

from register.calc.errors import CalculationError
from register.loading import load_loops, load_models
from register.models import Asset, Bay, BoardFitting, CatalogueModel, Installation, StockLine, Tag
from register.plant import values
from register.plant.fitting import bays_for, takes_adaptor_plate, with_board, with_model
from register.plant.keying import keying_order
from register.plant.tuning import as_taken_by
from register.plant.words import AssetState, ModelKind, Severity
from register.rules.engine import PlantRules, Verdict, all_rules, check
from register.services.checking import plant_rules_by_area

ASPECTS: dict[str, tuple[str, ...]] = {
    "Cut-out": ("front-does-not-fit-cutout",),
    "Input": ("input and range",),
    "Boards": ("boards", "output-without-board"),
    "Outputs": ("outputs",),
    "Supply": ("power and wiring",),
    "Hazardous area": ("hazardous area",),
}
"""What people ask of a replacement, and the rules or themes of rules that answer."""

RANK = {severity: place for place, severity in enumerate(Severity)}


@dataclass(frozen=True)
class Outcome:
    """What the rules would say that they do not say now, and the other way round."""

    appear: tuple[Verdict, ...] = ()
    clear: tuple[Verdict, ...] = ()

    def of(self, aspect: str) -> list[Verdict]:
        """What appears in one aspect."""
        asked = ASPECTS[aspect]
        return [
            one for one in self.appear if one.rule in asked or (_theme(one) in asked and not _elsewhere(one, aspect))
        ]

    @property
    def burden(self) -> tuple[int, ...]:
        """How much would be wrong: errors, warnings, what cannot be told, advice; less what would be put right."""
        counts = [0] * (len(RANK) + 1)
        for sign, verdicts in ((1, self.appear), (-1, self.clear)):
            for one in verdicts:
                counts[_urgency(one)] += sign
        return tuple(counts)


def _theme(verdict: Verdict) -> str:
    return all_rules()[verdict.rule].theme


def _elsewhere(verdict: Verdict, aspect: str) -> bool:
    """Whether another aspect names the rule itself."""
    return any(verdict.rule in asked for name, asked in ASPECTS.items() if name != aspect)


def _urgency(verdict: Verdict) -> int:
    """Errors, warnings, then what cannot be told, then advice."""
    if verdict.finding.unknown:
        return 2
    return {Severity.ERROR: 0, Severity.WARNING: 1, Severity.ADVICE: 3}[verdict.severity]


def outcome(now: Iterable[Verdict], then: Iterable[Verdict]) -> Outcome:
    before = {one.identity: one for one in now}
    after = {one.identity: one for one in then}
    return Outcome(
        tuple(sorted((one for key, one in after.items() if key not in before), key=_urgency)),
        tuple(sorted((one for key, one in before.items() if key not in after), key=_urgency)),
    )


@dataclass(frozen=True)
class Candidate:
    """One model, or one item of the store, at a tag: what would be wrong, and what must be done."""

    pk: int
    model: values.Model
    same_model: bool
    outcome: Outcome
    asset: Asset | None = None
    lines: tuple[StockLine, ...] = ()
    moves: dict[str, str] = field(default_factory=dict)  # bay of the present controller → bay of this one
    must_change: tuple[str, ...] = ()

    @property
    def at_hand(self) -> bool:
        return self.asset is not None or any(line.quantity for line in self.lines)

    @property
    def aspects(self) -> list[tuple[str, list[Verdict]]]:
        return [(name, self.outcome.of(name)) for name in ASPECTS]

    @property
    def sound(self) -> list[str]:
        """Aspects in which nothing appears."""
        return [name for name, found in self.aspects if not found]

    @property
    def others(self) -> list[Verdict]:
        """What appears in no aspect."""
        told = [one for _, found in self.aspects for one in found]
        return [one for one in self.outcome.appear if one not in told]

    @property
    def rank(self) -> tuple:
        errors, warnings, *rest = self.outcome.burden
        return (errors, warnings, not self.same_model, not self.at_hand, *rest, len(self.must_change), str(self.model))


def what_fits(tag: Tag, *, today: date) -> list[Candidate]:
    """Every item of the store and every catalogue model of the tag's kind, the best fit first."""
    pk = tag.loop_id
    loop = load_loops([pk], today=today)[pk]
    rules = plant_rules_by_area()[loop.area]
    now = check(loop, rules)
    shelf = _Shelf([tag.role])
    judged = _Judge(tag.name, loop, rules, now, _spares(shelf.rows))
    return sorted(shelf.candidates(judged, tag.role), key=lambda one: one.rank)


def fits_from_store(tags: Iterable[Tag], *, today: date) -> dict[int, list[Candidate]]:
    """For each tag, what lies in the store and makes no error and no warning appear there, the best fit first."""
    tags = list(tags)
    loops = load_loops({tag.loop_id for tag in tags}, today=today)
    rules = plant_rules_by_area()
    shelf = _Shelf({tag.role for tag in tags})
    now = {pk: check(loop, rules[loop.area]) for pk, loop in loops.items()}
    found = {}
    for tag in tags:
        loop = loops[tag.loop_id]
        judged = _Judge(tag.name, loop, rules[loop.area], now[tag.loop_id], _spares(shelf.rows))
        at_hand = [one for one in shelf.candidates(judged, tag.role, at_hand=True) if max(one.outcome.burden[:2]) <= 0]
        found[tag.pk] = sorted(at_hand, key=lambda one: one.rank)
    return found


class _Shelf:
    """The models of some kinds with what lies of them in the store, read once for many tags."""

    def __init__(self, kinds: Collection[str]):
        models = CatalogueModel.objects.filter(kind__in=kinds).with_counts().select_related("successor")
        self.rows = {row.pk: row for row in models}
        self.stored = defaultdict(list)
        for asset in Asset.objects.filter(model__in=self.rows, state=AssetState.IN_STORE).order_by("code"):
            self.stored[asset.model_id].append(asset)
        self.lines = defaultdict(list)
        for line in StockLine.objects.filter(model__in=self.rows):
            self.lines[line.model_id].append(line)
        self.inside = _boards_inside(asset for assets in self.stored.values() for asset in assets)
        boards = (board.model_id for fitted in self.inside.values() for board in fitted)
        self.catalogue = load_models({*self.rows, *boards})

    def candidates(self, judged: _Judge, kind: str, *, at_hand: bool = False) -> Iterator[Candidate]:
        """Every item of the store and every model of a kind; ``at_hand`` leaves out what the store does not hold."""
        for key, row in self.rows.items():
            if row.kind != kind:
                continue
            model, lines = self.catalogue[key], tuple(self.lines[key])
            for asset in self.stored[key]:
                boards = tuple(
                    values.FittedBoard(bay=one.bay, model=self.catalogue[one.model_id]) for one in self.inside[asset.pk]
                )
                yield judged.candidate(key, model, boards, asset=asset)
            if any(line.quantity for line in lines) or not (self.stored[key] or at_hand):
                yield judged.candidate(key, model, lines=lines)


def _boards_inside(assets: Iterable[Asset]) -> dict[int, list[BoardFitting]]:
    inside = defaultdict(list)
    for one in BoardFitting.objects.current().filter(controller__in=[asset.pk for asset in assets]).order_by("bay"):
        inside[one.controller_id].append(one)
    return inside


def _spares(rows: dict[int, CatalogueModel]) -> dict[str, int]:
    """Stock that would be left of each obsolete model, its successor's counted too, once one of it is used."""
    return {
        str(row): max(row.in_store - 1, 0) + (rows[row.successor_id].in_store if row.successor_id in rows else 0)
        for row in rows.values()
        if row.obsolete
    }


class _Judge:
    """One tag of one loop, for many models: equal would-be loops are checked once."""

    def __init__(self, name: str, loop: values.Loop, rules: PlantRules, now: tuple[Verdict, ...], spares: dict):
        self.name, self.rules, self.now = name, rules, now
        self.loop = replace(loop, surroundings=replace(loop.surroundings, spares=loop.surroundings.spares | spares))
        self.tag = loop.tag(name)
        self.seen: dict[tuple, Outcome] = {}

    def candidate(self, pk: int, model: values.Model, inside: tuple = (), **facts) -> Candidate:
        fitted = self.tag.asset.boards if self.tag.asset else ()
        present = self.tag.model
        missing = tuple(board for board in fitted if not _has(inside, board))
        moves = bays_for(missing, model, [board.bay for board in inside])
        boards = (*inside, *(replace(board, bay=moves[board.bay]) for board in missing if board.bay in moves))
        key = (pk, tuple((board.bay, str(board.model)) for board in boards))
        if key not in self.seen:
            would_be = with_model(self.loop, self.name, model, boards, moved=moves)
            self.seen[key] = outcome(self.now, check(would_be, self.rules))
        return Candidate(
            pk=pk,
            model=model,
            same_model=present is not None and str(present) == str(model),
            outcome=self.seen[key],
            moves=moves,
            must_change=tuple(self._must_change(model, missing, moves)),
            **facts,
        )

    def instead(self, present: CatalogueModel, pk: int, model: values.Model) -> Outcome:
        """What the rules say of a model in the place of the one at the tag, or of the boards of that model there."""
        if present.kind != ModelKind.OPTION_BOARD:
            return self.candidate(pk, model).outcome
        would_be = self.loop
        for board in self.tag.asset.boards:
            if str(board.model) == str(present):
                would_be = with_board(would_be, self.name, board.bay, model)
        return outcome(self.now, check(would_be, self.rules))

    def _must_change(self, model: values.Model, missing: tuple, moves: dict[str, str]) -> Iterable[str]:
        tag = self.tag
        for board in missing:
            if board.bay not in moves:
                yield f"{board.model} of bay {board.bay} has no bay here that takes {board.model.family} boards"
            elif moves[board.bay] == board.bay:
                yield f"Move {board.model} over, bay {board.bay}"
            else:
                yield f"Move {board.model} from bay {board.bay} to bay {moves[board.bay]}, and its wires with it"
        if tag.settings and (new := _keyed_anew(tag.settings, model)):
            yield f"Key the tuning as {new}"
        other_front = tag.model is not None and _front(tag.model) != _front(model)
        if other_front and takes_adaptor_plate(model, tag.cutout_width_mm, tag.cutout_height_mm):
            yield "An adaptor plate closes the larger hole"
        if tag.model and str(tag.model) != str(model) and tag.ports:
            yield "Check the terminals: another model, another terminal plan"


def _has(inside: tuple, board: values.FittedBoard) -> bool:
    return any(one.bay == board.bay and str(one.model) == str(board.model) for one in inside)


def _front(model: values.Model) -> tuple:
    return model.front_width_mm, model.front_height_mm


def _keyed_anew(settings: values.Settings, model: values.Model) -> str:
    """What of the tuning is keyed otherwise in a model: names and values; "" where nothing is."""
    try:
        taken = as_taken_by(settings, model)
    except CalculationError as reason:
        return f"this model takes it: {reason}"
    old = dict(keying_order(settings))
    return ", ".join(f"{name} {value}" for name, value in keying_order(taken) if old.get(name) != value)


@dataclass(frozen=True)
class Substitute:
    """A model that is still made, in another's place at some tags: what the rules say at each, by the tag's name."""

    row: CatalogueModel
    is_successor: bool
    outcomes: dict[str, Outcome]

    @property
    def sound_at(self) -> list[str]:
        """Tags at which nothing would be wrong that is not wrong now."""
        return [name for name, found in self.outcomes.items() if not found.appear]

    @property
    def rank(self) -> tuple:
        burdens = [found.burden for found in self.outcomes.values()]
        total = tuple(map(sum, zip(*burdens, strict=True)))
        return -len(self.sound_at), total, not self.is_successor, not self.row.in_store, str(self.row)


def substitutes(
    wanted: Mapping[CatalogueModel, Sequence[Tag]], *, most: int, today: date
) -> dict[int, list[Substitute]]:
    """By model, what is still made and could take its place at the tags, the best first; in a fixed number of queries.

    Of each model's kind, and of a board its family, at most so many are judged: its successor and what the store holds
    before the others.
    """
    rows = CatalogueModel.objects.filter(obsolete=False, kind__in={model.kind for model in wanted}).with_counts()
    options = {model: _options(model, rows, most) for model in wanted}
    catalogue = load_models({row.pk for some in options.values() for row in some})
    loops = load_loops({tag.loop_id for tags in wanted.values() for tag in tags}, today=today)
    rules = plant_rules_by_area()
    now = {pk: check(loop, rules[loop.area]) for pk, loop in loops.items()}
    found = {}
    for model, tags in wanted.items():
        made = {row: {} for row in options[model]}
        for tag in tags:
            loop = _specified_anew(loops[tag.loop_id], tag.name)
            judge = _Judge(tag.name, loop, rules[loop.area], now[tag.loop_id], {})
            for row in made:
                made[row][tag.name] = judge.instead(model, row.pk, catalogue[row.pk])
        put = [Substitute(row, row.pk == model.successor_id, outcomes) for row, outcomes in made.items()]
        found[model.pk] = sorted(put, key=lambda one: one.rank)
    return found


def _specified_anew(loop: values.Loop, name: str) -> values.Loop:
    """The loop where a tag no longer specifies a model: whoever chooses a substitute specifies that."""
    return replace(loop, tags=tuple(replace(tag, specified=None) if tag.name == name else tag for tag in loop.tags))


def _options(model: CatalogueModel, rows: Iterable[CatalogueModel], most: int) -> list[CatalogueModel]:
    alike = [row for row in rows if row.kind == model.kind and row.family_id == model.family_id and row.pk != model.pk]
    return sorted(alike, key=lambda row: (row.pk != model.successor_id, not row.in_store, str(row)))[:most]


@dataclass(frozen=True)
class BayFor:
    """An empty bay of an installed controller that takes a board, and what fitting it there would change."""

    tag: str
    loop: str
    controller: str
    bay: str
    outcome: Outcome


def bays_that_take(board: CatalogueModel) -> QuerySet[Installation]:
    """Installed controllers with an empty bay for a board's family, each with the bay's name as ``bay``."""
    filled = BoardFitting.objects.current().filter(controller=OuterRef("asset"), bay=OuterRef("bay"))
    return (
        Installation.objects.current()
        .filter(asset__model__bays__takes=board.family_id, tag__retired_on__isnull=True)
        .annotate(bay=F("asset__model__bays__name"))
        .exclude(Exists(filled))
        .select_related("tag__loop", "asset__model")
        .order_by("tag__name", "bay")
    )


def judged(board: CatalogueModel, installed: Iterable[Installation], *, today: date) -> list[BayFor]:
    """What the rules say of the board in each of those bays."""
    installed = list(installed)
    loops = load_loops({one.tag.loop_id for one in installed}, today=today)
    rules = plant_rules_by_area()
    model = load_models([board.pk])[board.pk]
    now = {pk: check(loop, rules[loop.area]) for pk, loop in loops.items()}
    made = []
    for one in installed:
        pk, loop = one.tag.loop_id, loops[one.tag.loop_id]
        then = check(with_board(loop, one.tag.name, one.bay, model), rules[loop.area])
        made.append(BayFor(one.tag.name, loop.number, str(one.asset.model), one.bay, outcome(now[pk], then)))
    return sorted(made, key=lambda one: (one.outcome.burden, one.tag, one.bay))


def models_that_take(board: CatalogueModel) -> list[tuple[CatalogueModel, list[str]]]:
    """Every catalogue model with a bay for the board's family, and those bays."""
    bays = Bay.objects.filter(takes=board.family_id, model__kind=ModelKind.CONTROLLER).select_related("model")
    found = defaultdict(list)
    for bay in bays.order_by("model__maker", "model__name", "pk"):
        found[bay.model].append(bay.name)
    return list(found.items())
