"""A technician's writes on things: an asset goes in or comes out, a board is fitted or removed."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from register.models import Asset, BoardFitting, CatalogueModel, Installation, StockLine, Tag, User
from register.plant.words import AssetState, Condition, ModelKind, MovementKind
from register.services.permissions import May
from register.services.recording import Refused, changing
from register.services.stock import move_stock, note_moves, return_to_store


def _not_in_the_future(on: date, field: str) -> None:
    if on > timezone.localdate():
        raise Refused(f"{on} is in the future. Give the day on which the work was done.", field=field)


REASON_LENGTH = Installation._meta.get_field("reason_in").max_length
"""An installation keeps the beginning of a reason, its revision the whole."""


GOES_TO = {
    Condition.WORKING: AssetState.IN_STORE,
    Condition.FAULTY: AssetState.IN_WORKSHOP,
    Condition.BEYOND_REPAIR: AssetState.SCRAPPED,
}
"""Where what came out goes, by its condition."""


def put(
    asset: Asset, state: AssetState, store_place: str = "", *, on: date, by: User, reason: str, work_order: str = ""
) -> None:
    """Say where an asset is: the boards in it are where it is. Part of the caller's change.

    What thereby enters or leaves the store is a movement of stock.
    """
    inside = asset.board_fittings.current().filter(board__isnull=False).values("board")
    boards = Asset.objects.filter(pk__in=inside)
    note_moves([asset, *boards], state, on=on, by=by, reason=reason, work_order=work_order)
    asset.state, asset.store_place = state, store_place
    asset.save(update_fields=["state", "store_place"])
    boards.update(state=state, store_place=store_place)


def install_asset(
    asset: Asset, tag: Tag, *, on: date, by: User, seen_revision: int, reason: str, work_order: str = ""
) -> Installation:
    """Put an asset at a tag that is empty."""
    _not_in_the_future(on, "on")
    if (there := asset.installations.current().select_related("tag").first()) is not None:
        raise Refused(f"{asset.serial} is installed at {there.tag}. Take it out there first.", field="asset")
    if asset.state == AssetState.SCRAPPED:
        raise Refused(f"{asset.serial} was scrapped. Choose another asset.", field="asset")
    if asset.model.kind == ModelKind.OPTION_BOARD:
        raise Refused(f"{asset.model} is an option board. Fit it in a bay of a controller.", field="asset")
    last = tag.installations.order_by("-from_date", "-pk").first()
    if last is not None and last.to_date is None:
        raise Refused(f"{last.asset.serial} is installed at {tag}. Take it out first.", field="asset")
    if last is not None and on < last.to_date:
        raise Refused(f"The last asset came out of {tag} on {last.to_date}; {on} is before that.", field="on")
    with changing(
        tag.loop, by=by, needs=May.RECORD_WORK, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        put(asset, AssetState.IN_SERVICE, on=on, by=by, reason=reason, work_order=work_order)
        return Installation.objects.create(asset=asset, tag=tag, from_date=on, reason_in=reason[:REASON_LENGTH])


def remove_asset(
    tag: Tag,
    *,
    on: date,
    condition: Condition,
    by: User,
    seen_revision: int,
    reason: str,
    work_order: str = "",
    store_place: str = "",
) -> Installation:
    """Take out what is installed at a tag. Its boards stay in it, and are where it is."""
    _not_in_the_future(on, "on")
    installed = tag.installations.current().select_related("asset").first()
    if installed is None:
        raise Refused(f"Nothing is installed at {tag}.", field="tag")
    if on < installed.from_date:
        raise Refused(f"{installed.asset.serial} went in on {installed.from_date}; {on} is before that.", field="on")
    with changing(
        tag.loop, by=by, needs=May.RECORD_WORK, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        installed.to_date, installed.reason_out, installed.condition_out = on, reason[:REASON_LENGTH], condition
        installed.save(update_fields=["to_date", "reason_out", "condition_out"])
        put(installed.asset, GOES_TO[condition], store_place, on=on, by=by, reason=reason, work_order=work_order)
        return installed


def _controller_at(tag: Tag) -> Asset:
    installed = tag.installations.current().select_related("asset__model").first()
    if installed is None:
        raise Refused(f"Nothing is installed at {tag}, so no board can be fitted.", field="bay")
    return installed.asset


def fit_board(
    tag: Tag,
    *,
    bay: str,
    model: CatalogueModel,
    on: date,
    by: User,
    seen_revision: int,
    reason: str,
    board: Asset | None = None,
    line: StockLine | None = None,
    work_order: str = "",
) -> BoardFitting:
    """Fit a board in a bay of the controller at a tag. The bay must be there, empty, and take the board's family.

    ``board`` is the item where it bears a serial number, ``line`` the stock line that a loose one was taken from.
    """
    _not_in_the_future(on, "on")
    controller = _controller_at(tag)
    position = controller.model.bays.filter(name=bay).first()
    if position is None:
        names = ", ".join(controller.model.bays.values_list("name", flat=True)) or "none"
        raise Refused(f"{controller.model} has no bay {bay}. It has: {names}.", field="bay")
    if model.kind != ModelKind.OPTION_BOARD:
        raise Refused(f"{model} is no option board.", field="model")
    taken = list(position.takes.values_list("name", flat=True))
    if model.family.name not in taken:
        raise Refused(
            f"Bay {bay} of {controller.model} takes {', '.join(taken) or 'no board'}; {model} is a {model.family} "
            "board. Choose another bay or another board.",
            field="model",
        )
    if (held := controller.board_fittings.current().filter(bay=bay).select_related("model").first()) is not None:
        raise Refused(f"Bay {bay} holds {held.model}. Remove it first.", field="bay")
    there = board and board.fitted_in.current().select_related("controller").first()
    if there:
        where = f"bay {there.bay} of {there.controller}"
        raise Refused(f"Board {board.serial} is in {where}. Remove it there first.", field="board")
    if line is not None and (board is not None or line.model_id != model.pk):
        raise Refused(f"What lies in {line.store_place} is a loose {line.model}. Choose that one alone.", field="line")
    with changing(
        tag.loop, by=by, needs=May.RECORD_WORK, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        if board is not None:
            put(board, AssetState.IN_SERVICE, on=on, by=by, reason=reason, work_order=work_order)
        elif line is not None:
            move_stock(line, MovementKind.ISSUE, -1, on=on, by=by, reason=reason, work_order=work_order)
        return BoardFitting.objects.create(controller=controller, bay=bay, model=model, board=board, from_date=on)


def remove_board(
    tag: Tag,
    *,
    bay: str,
    on: date,
    condition: Condition,
    by: User,
    seen_revision: int,
    reason: str,
    work_order: str = "",
    store_place: str = "",
) -> BoardFitting:
    """Take the board out of a bay. What was linked to its ports stays recorded, and is then a finding.

    A loose board that works goes to the stock line of the store place, if one is given.
    """
    _not_in_the_future(on, "on")
    fitted = _controller_at(tag).board_fittings.current().filter(bay=bay).select_related("board").first()
    if fitted is None:
        raise Refused(f"Bay {bay} is empty.", field="bay")
    if on < fitted.from_date:
        raise Refused(f"The board went in on {fitted.from_date}; {on} is before that.", field="on")
    with changing(
        tag.loop, by=by, needs=May.RECORD_WORK, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        fitted.to_date, fitted.condition_out = on, condition
        fitted.save(update_fields=["to_date", "condition_out"])
        work = {"on": on, "by": by, "reason": reason, "work_order": work_order}
        if fitted.board is not None:
            put(fitted.board, GOES_TO[condition], store_place, **work)
        elif condition == Condition.WORKING and store_place:
            return_to_store(fitted.model, store_place, **work)
        return fitted
