"""Every change of what lies in the store: a movement with its reason and person, and the figure that follows it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from register.models import Asset, CatalogueModel, PlannedMovement, StockLine, StockMovement, User
from register.plant.words import AssetState, MovementKind, PlannedKind
from register.services.catalogue import REASON_LENGTH, loops_using
from register.services.permissions import May, require
from register.services.recording import Refused, record_with_neighbours

SIGN = {MovementKind.RECEIPT: 1, MovementKind.RETURN: 1, MovementKind.ISSUE: -1, MovementKind.SCRAP: -1}
FULFILS = {MovementKind.RECEIPT: PlannedKind.ON_ORDER, MovementKind.ISSUE: PlannedKind.RESERVED}


def record_movement(
    model: CatalogueModel,
    kind: MovementKind,
    *,
    store_place: str,
    quantity: int,
    on: date,
    by: User,
    reason: str,
    work_order: str = "",
    planned: PlannedMovement | None = None,
) -> StockMovement:
    """Record what moved into or out of a store place, or what was counted there (``quantity`` is then all of it).

    A receipt may fulfil an order, an issue a reservation: ``planned``. The loops whose findings hang on the stock of
    an obsolete model are checked again. Raises Refused, NotAllowed.
    """
    require(by, May.EDIT_REGISTER)
    if on > timezone.localdate():
        raise Refused(f"{on} is in the future. Give the day on which it moved or was counted.", field="on")
    if quantity < 1 and kind != MovementKind.COUNT:
        raise Refused("At least one must move.", field="quantity")
    with transaction.atomic():
        line = model.stock_lines.filter(store_place=store_place).first()
        if line is None and kind in (MovementKind.ISSUE, MovementKind.SCRAP):
            raise Refused(f"No {model} lies in {store_place}. Choose another store place.", field="store_place")
        if line is None:
            line = StockLine.objects.create(model=model, store_place=store_place)
        line = StockLine.objects.select_for_update().select_related("model").get(pk=line.pk)
        if kind == MovementKind.COUNT:
            _no_movement_since(line, on)
            change = quantity - line.quantity
        else:
            change = SIGN[kind] * quantity
        if planned is not None:
            _fulfil(planned, model, kind, quantity)
        made = move_stock(line, kind, change, on=on, by=by, reason=reason, work_order=work_order, planned=planned)
        users = [model, *model.predecessors.all()]
        loops = loops_using(one for one in users if one.obsolete)
        record_with_neighbours(loops, by=by, reason=f"Stock of {model}: {reason}"[:REASON_LENGTH], at=made.at)
        return made


def move_stock(
    line: StockLine,
    kind: MovementKind,
    change: int,
    *,
    on: date,
    by: User,
    reason: str,
    work_order: str = "",
    planned: PlannedMovement | None = None,
) -> StockMovement:
    """Change a line's figure by a movement; part of the caller's transaction. Raises Refused where it holds too few."""
    line = StockLine.objects.select_for_update().select_related("model").get(pk=line.pk)
    if line.quantity + change < 0:
        raise Refused(
            f"By the register {line.store_place} holds {line.quantity} {line.model}, not {-change}. If more lie there, "
            "a planner first corrects the figure by a count.",
            field="quantity",
        )
    line.quantity += change
    line.save(update_fields=["quantity"])
    return StockMovement.objects.create(
        line=line,
        kind=kind,
        change=change,
        balance=line.quantity,
        on=on,
        at=timezone.now(),
        by=by,
        reason=reason,
        work_order=work_order,
        planned=planned,
    )


def return_to_store(model: CatalogueModel, store_place: str, **work) -> StockMovement:
    """One loose item of a model goes back to a store place. Part of the caller's transaction."""
    line, _ = StockLine.objects.get_or_create(model=model, store_place=store_place)
    return move_stock(line, MovementKind.RETURN, 1, **work)


def _no_movement_since(line: StockLine, on: date) -> None:
    last = line.movements.filter(on__gt=on).order_by("-on").first()
    if last is not None:
        raise Refused(
            f"A movement of {last.on} ({last.kind}) is recorded, so a count of {on} cannot correct today's figure. "
            "Count again.",
            field="on",
        )


def _fulfil(planned: PlannedMovement, model: CatalogueModel, kind: MovementKind, quantity: int) -> None:
    planned = PlannedMovement.objects.select_for_update().get(pk=planned.pk)
    if planned.model_id != model.pk or FULFILS.get(kind) != planned.kind:
        raise Refused(f"{planned.reference} is no {model} {planned.kind} that a {kind} fulfils.", field="planned")
    if quantity > planned.outstanding:
        raise Refused(
            f"Of {planned.reference} only {planned.outstanding} are outstanding. Record the rest without it.",
            field="planned",
        )
    planned.moved += quantity
    planned.save(update_fields=["moved"])


def note_moves(
    assets: Iterable[Asset], state: AssetState, *, on: date, by: User, reason: str, work_order: str = ""
) -> None:
    """Movements of the items that enter or leave the store by going from their state to another.

    Call it before the state is written; part of the caller's transaction.
    """
    moved = [one for one in assets if (one.state == AssetState.IN_STORE) != (state == AssetState.IN_STORE)]
    kind = {AssetState.IN_STORE: MovementKind.RETURN, AssetState.SCRAPPED: MovementKind.SCRAP}.get(
        state, MovementKind.ISSUE
    )
    change = 1 if state == AssetState.IN_STORE else -1
    _note(((one.pk, kind, change) for one in moved), on=on, by=by, reason=reason, work_order=work_order)


def note_receipt(asset: Asset, *, on: date, by: User, reason: str) -> None:
    """The movement of an item that is new to the store. Part of the caller's transaction."""
    _note([(asset.pk, MovementKind.RECEIPT, 1)], on=on, by=by, reason=reason)


def _note(items: Iterable[tuple[int, MovementKind, int]], *, on: date, by: User, reason: str, work_order: str = ""):
    now = timezone.now()
    StockMovement.objects.bulk_create(
        StockMovement(asset_id=pk, kind=kind, change=change, on=on, at=now, by=by, reason=reason, work_order=work_order)
        for pk, kind, change in items
    )


def note_counts(
    lines: Iterable[tuple[int, int, int]], assets: Iterable[tuple[int, int]], *, at: datetime, by: User, reason: str
) -> None:
    """Counts that an import made: lines with the figure before and after, items with the change of one.

    Part of the caller's transaction, which has written the figures.
    """
    facts = {"kind": MovementKind.COUNT, "on": timezone.localdate(at), "at": at, "by": by, "reason": reason}
    made = [
        StockMovement(line_id=pk, change=after - before, balance=after, **facts)
        for pk, before, after in lines
        if after != before
    ]
    made += [StockMovement(asset_id=pk, change=change, **facts) for pk, change in assets]
    StockMovement.objects.bulk_create(made, batch_size=500)


def plan_movement(
    model: CatalogueModel,
    kind: PlannedKind,
    *,
    reference: str,
    quantity: int,
    made_on: date,
    expected_on: date,
    by: User,
) -> PlannedMovement:
    """Record an order, or a reservation for a job. Raises Refused, NotAllowed."""
    require(by, May.EDIT_REGISTER)
    if quantity < 1:
        raise Refused("At least one must be planned.", field="quantity")
    if expected_on < made_on:
        raise Refused(f"{expected_on} is before {made_on}. Give a day from then on.", field="expected_on")
    if PlannedMovement.objects.filter(model=model, kind=kind, reference=reference).exists():
        raise Refused(f"{reference} is recorded already for {model}, {kind}. Close that one first.", field="reference")
    return PlannedMovement.objects.create(
        model=model, kind=kind, reference=reference, quantity=quantity, made_on=made_on, expected_on=expected_on, by=by
    )


def close_planned(planned: PlannedMovement, *, by: User, reason: str) -> None:
    """Say that what is outstanding of an order or a reservation will not move. It stays on record."""
    require(by, May.EDIT_REGISTER)
    with transaction.atomic():
        planned = PlannedMovement.objects.select_for_update().get(pk=planned.pk)
        if not planned.outstanding:
            raise Refused(f"Nothing of {planned.reference} is outstanding.")
        planned.closed_on, planned.closed_reason = timezone.localdate(), reason
        planned.save(update_fields=["closed_on", "closed_reason"])
