"""Writes on the catalogue: models, ports, bays, board families; and what they do to every loop that uses them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from register.loading import load_models
from register.models import Bay, BoardFamily, CatalogueModel, CatalogueRevision, Loop, ModelPort, ModelSignal, Tag, User
from register.plant.diff import Path, differences, facts_of_model
from register.plant.values import ExData
from register.plant.values import Model as ModelValue
from register.services.editing import Facts, written
from register.services.permissions import May, require
from register.services.recording import REASON_LENGTH, Refused, Stale, record_with_neighbours


def add_model(facts: Facts, *, by: User, reason: str, copy_of: CatalogueModel | None = None) -> CatalogueModel:
    """A new model; as a copy it has the other's ports and bays too."""
    require(by, May.EDIT_REGISTER)
    with transaction.atomic():
        model = written(CatalogueModel(), facts)
        _check_successor(model)
        if copy_of is not None:
            _copy_parts(copy_of, model)
        note_changes({}, stated([model.pk]), by=by, reason=reason, at=timezone.now())
        return model


def correct_model(
    model: CatalogueModel, facts: Facts, *, by: User, reason: str, seen_revision: int | None = None
) -> int:
    """Set facts of a model, then record and check every loop that uses it, in one transaction.

    Returns how many loops those are. Raises ValidationError, which names the fields, NotAllowed, Refused or Stale.
    """
    with changing_models(model, by=by, reason=reason, seen_revision=seen_revision) as loops:
        written(model, facts)
        _check_successor(model)
    return len(loops)


def save_model_port(
    port: ModelPort, facts: Facts, signals: Sequence[Facts], *, by: User, reason: str, seen_revision: int
) -> None:
    """Add a port to a model, or correct one, with the signals that it speaks."""
    with changing_models(port.model, by=by, reason=reason, seen_revision=seen_revision):
        written(port, facts)
        port.signals.all().delete()
        for one in signals:
            written(ModelSignal(port=port), one)


def remove_model_port(port: ModelPort, *, by: User, reason: str, seen_revision: int) -> None:
    with changing_models(port.model, by=by, reason=reason, seen_revision=seen_revision):
        port.delete()


def save_bay(bay: Bay, *, name: str, takes: Collection[BoardFamily], by: User, reason: str, seen_revision: int) -> None:
    """Add a bay to a model, or correct one, with the board families that it takes."""
    with changing_models(bay.model, by=by, reason=reason, seen_revision=seen_revision):
        written(bay, {"name": name}).takes.set(takes)


def remove_bay(bay: Bay, *, by: User, reason: str, seen_revision: int) -> None:
    with changing_models(bay.model, by=by, reason=reason, seen_revision=seen_revision):
        bay.delete()


def save_family(family: BoardFamily, facts: Facts, *, by: User, reason: str) -> BoardFamily:
    """Add a board family, or correct one: the models of its boards and of the bays that take it change with it."""
    if "," in facts["name"]:
        raise Refused("Bays list families parted by commas. Name it without one.", field="name")
    models = CatalogueModel.objects.filter(Q(family=family) | Q(bays__takes=family)).distinct() if family.pk else ()
    with changing_models(*models, by=by, reason=reason):
        return written(family, facts)


@contextmanager
def changing_models(
    *models: CatalogueModel, by: User, reason: str, seen_revision: int | None = None
) -> Iterator[list[int]]:
    """Write the catalogue inside this frame; the models' revisions, and the loops that use them, follow.

    ``seen_revision`` is the revision of the first model that the person's form was opened on. Raises NotAllowed, Stale
    or what the body raises; nothing is written then. Yields the loops that use the models.
    """
    require(by, May.EDIT_REGISTER)
    at = timezone.now()
    with transaction.atomic():
        pks = [model.pk for model in models]
        locked = {row.pk: row for row in CatalogueModel.objects.select_for_update().filter(pk__in=pks).order_by("pk")}
        if seen_revision is not None and locked[pks[0]].revision != seen_revision:
            missed = CatalogueRevision.objects.filter(model=pks[0], number__gt=seen_revision).select_related(
                "by", "model"
            )
            raise Stale(locked[pks[0]], list(missed))
        for model in models:
            model.revision = locked[model.pk].revision
        loops, before = loops_using(models), stated(pks)
        yield loops
        note_changes(before, stated(pks), by=by, reason=reason, at=at)
        said = f"{', '.join(map(str, models[:3]))} corrected in the catalogue: {reason}"
        record_with_neighbours(loops, by=by, reason=said[:REASON_LENGTH], at=at)


def stated(pks: Collection[int] | None = None) -> dict[int, dict[Path, str]]:
    """What the catalogue says of these models, or of all: every fact as text, by where it stands."""
    rows = CatalogueModel.objects.order_by()
    bought = (rows if pks is None else rows.filter(pk__in=pks)).values_list("pk", *BOUGHT)
    models = load_models(pks)
    return {
        pk: facts_of_model(models[pk])
        | {((name, ""),): str(fact) for name, fact in zip(BOUGHT, row, strict=True) if fact is not None}
        for pk, *row in bought
    }


TOLD = {"id", "revision", *ModelValue.__struct_fields__, *ExData.__struct_fields__}
BOUGHT = tuple(
    column.name
    for column in CatalogueModel._meta.concrete_fields
    if not column.is_relation and column.name not in TOLD and not column.name.startswith("limits_")
)
"""Columns of a model that no loop is told of: what it costs, how long it takes to come."""


def note_changes(
    before: Mapping[int, Mapping[Path, str]],
    after: Mapping[int, Mapping[Path, str]],
    *,
    by: User,
    reason: str,
    at: datetime,
) -> None:
    """A revision of every model that is new or that states something else than before."""
    numbers = dict(CatalogueModel.objects.filter(pk__in=after).values_list("pk", "revision"))
    made = defaultdict(list)
    for pk, facts in after.items():
        found = differences(before[pk], facts) if pk in before else ()
        if found or pk not in before:
            changes = [str(one) for one in found]
            number = numbers[pk] + 1
            one = CatalogueRevision(model_id=pk, number=number, at=at, by=by, reason=reason, changes=changes)
            made[number].append(one)
    for number, revisions in made.items():
        CatalogueRevision.objects.bulk_create(revisions, batch_size=500)
        CatalogueModel.objects.filter(pk__in=[one.model_id for one in revisions]).update(revision=number)


def loops_using(models: Iterable[CatalogueModel]) -> list[int]:
    """Loops in service at one of whose tags a model is specified, installed or fitted as a board."""
    models = list(models)
    current = Q(installations__to_date__isnull=True)
    boards = Q(
        installations__asset__board_fittings__model__in=models,
        installations__asset__board_fittings__to_date__isnull=True,
    )
    tags = Tag.objects.filter(
        Q(specified__in=models) | (current & Q(installations__asset__model__in=models)) | (current & boards)
    )
    return list(Loop.objects.in_service().filter(pk__in=tags.values("loop_id")).values_list("pk", flat=True))


def _check_successor(model: CatalogueModel) -> None:
    """Whoever follows the successors must not come back. Part of the caller's transaction."""
    met, at = set(), model.successor_id
    while at and at not in met:
        if at == model.pk:
            message = f"{model.successor} is followed by {model} itself. Choose another successor, or none."
            raise Refused(message, field="successor")
        met.add(at)
        at = CatalogueModel.objects.values_list("successor_id", flat=True).get(pk=at)


def _copy_parts(original: CatalogueModel, model: CatalogueModel) -> None:
    """Give a new model the ports, signals and bays of another."""
    for port in original.ports.prefetch_related("signals"):
        signals = list(port.signals.all())
        port.pk, port.model = None, model
        port._state.adding = True
        port.save()
        for signal in signals:
            signal.pk, signal.port = None, port
            signal._state.adding = True
            signal.save()
    for bay in original.bays.prefetch_related("takes"):
        Bay.objects.create(model=model, name=bay.name).takes.set(bay.takes.all())
