"""A technician's writes on things: an asset goes in or comes out, a board is fitted or removed."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from register.models import Asset, BoardFitting, CatalogueModel, Installation, Tag, User
from register.plant.words import AssetState, ModelKind
from register.services.permissions import May
from register.services.recording import Refused, changing


def _not_in_the_future(on: date, field: str) -> None:
    if on > timezone.localdate():
        raise Refused(f"{on} is in the future. Give the day on which the work was done.", field=field)


REASON_LENGTH = Installation._meta.get_field("reason_in").max_length
"""An installation keeps the beginning of a reason, its revision the whole."""


def put(asset: Asset, state: AssetState, store_place: str = "") -> None:
    """Say where an asset is: the boards in it are where it is. Part of the caller's change."""
    asset.state, asset.store_place = state, store_place
    asset.save(update_fields=["state", "store_place"])
    inside = asset.board_fittings.current().filter(board__isnull=False).values("board")
    Asset.objects.filter(pk__in=inside).update(state=state, store_place=store_place)


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
        put(asset, AssetState.IN_SERVICE)
        return Installation.objects.create(asset=asset, tag=tag, from_date=on, reason_in=reason[:REASON_LENGTH])


def remove_asset(
    tag: Tag,
    *,
    on: date,
    state: AssetState,
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
    if state == AssetState.IN_SERVICE:
        raise Refused("Say where it goes: store, workshop or scrap.", field="state")
    with changing(
        tag.loop, by=by, needs=May.RECORD_WORK, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        installed.to_date, installed.reason_out = on, reason[:REASON_LENGTH]
        installed.save(update_fields=["to_date", "reason_out"])
        put(installed.asset, state, store_place)
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
    work_order: str = "",
) -> BoardFitting:
    """Fit a board in a bay of the controller at a tag. The bay must be there, empty, and take the board's family."""
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
    with changing(
        tag.loop, by=by, needs=May.RECORD_WORK, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        if board is not None:
            put(board, AssetState.IN_SERVICE)
        return BoardFitting.objects.create(controller=controller, bay=bay, model=model, board=board, from_date=on)


def remove_board(
    tag: Tag,
    *,
    bay: str,
    on: date,
    state: AssetState,
    by: User,
    seen_revision: int,
    reason: str,
    work_order: str = "",
    store_place: str = "",
) -> BoardFitting:
    """Take the board out of a bay. What was linked to its ports stays recorded, and is then a finding."""
    _not_in_the_future(on, "on")
    fitted = _controller_at(tag).board_fittings.current().filter(bay=bay).select_related("board").first()
    if fitted is None:
        raise Refused(f"Bay {bay} is empty.", field="bay")
    if on < fitted.from_date:
        raise Refused(f"The board went in on {fitted.from_date}; {on} is before that.", field="on")
    with changing(
        tag.loop, by=by, needs=May.RECORD_WORK, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        fitted.to_date = on
        fitted.save(update_fields=["to_date"])
        if fitted.board is not None:
            put(fitted.board, state, store_place)
        return fitted
