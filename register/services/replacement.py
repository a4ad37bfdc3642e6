"""A swap: one instrument comes out of a tag, another goes in, boards and settings with it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from register.models import (
    Asset,
    BoardFitting,
    CatalogueModel,
    Installation,
    Revision,
    Settings,
    SettingsKind,
    StockLine,
    Tag,
    User,
)
from register.plant.words import AssetState, Condition, ModelKind, MovementKind
from register.services.editing import Facts, write_settings
from register.services.fitting import GOES_TO, REASON_LENGTH, put
from register.services.permissions import May
from register.services.recording import Refused, changing
from register.services.stock import move_stock


@dataclass(frozen=True)
class BoardMove:
    """What goes into a bay of the incoming controller.

    The board of a bay of the outgoing one, a board of the store with a serial number, or a loose one of a stock line.
    """

    bay: str
    from_bay: str = ""
    board: Asset | None = None
    line: StockLine | None = None


def replace_asset(
    tag: Tag,
    incoming: Asset,
    *,
    on: date,
    by: User,
    seen_revision: int,
    reason: str,
    condition: Condition,
    serial_out: str,
    work_order: str = "",
    store_place: str = "",
    line: StockLine | None = None,
    moved_boards: Iterable[BoardMove] = (),
    as_left: Facts | None = None,
) -> Revision:
    """Record a swap at a tag in one transaction.

    ``incoming`` may be a new asset, not saved yet; ``line`` is the stock line that it was taken from. Boards that are
    not moved stay in what came out. The ports of a board that is moved to another bay follow it. What was left in the
    old instrument is forgotten; ``as_left`` says what was left in the new one. Raises the first of
    :func:`objections`, StaleLoop or NotAllowed.
    """
    moved_boards = tuple(moved_boards)
    with changing(
        tag.loop, by=by, needs=May.RECORD_WORK, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        _lock(incoming, line, moved_boards)
        facts = {"on": on, "serial_out": serial_out, "line": line, "moved_boards": moved_boards}
        for objection in objections(tag, incoming, **facts):
            raise objection
        out = _installed(tag)
        fittings = {one.bay: one for one in _fittings(out.asset)}
        work = {"on": on, "by": by, "reason": reason, "work_order": work_order}
        out.to_date, out.reason_out, out.condition_out = on, reason[:REASON_LENGTH], condition
        out.save(update_fields=["to_date", "reason_out", "condition_out"])
        if incoming.pk is None:
            incoming.state = AssetState.IN_SERVICE
            incoming.code = new_code(incoming.serial)
            incoming.full_clean()
            incoming.save()
        for taken in filter(None, (line, *(move.line for move in moved_boards))):
            move_stock(taken, MovementKind.ISSUE, -1, **work)
        for move in moved_boards:
            _move(move, fittings, incoming, on)
        put(out.asset, GOES_TO[condition], store_place, **work)
        put(incoming, AssetState.IN_SERVICE, **work)
        Installation.objects.create(asset=incoming, tag=tag, from_date=on, reason_in=reason[:REASON_LENGTH])
        _ports_follow(tag, {move.from_bay: move.bay for move in moved_boards if move.from_bay})
        if as_left is None:
            Settings.objects.filter(tag=tag, kind=SettingsKind.AS_LEFT).delete()
        else:
            write_settings(tag, SettingsKind.AS_LEFT, as_left)
    return Revision.objects.filter(loop=tag.loop_id).first()


def objections(
    tag: Tag,
    incoming: Asset | None,
    *,
    on: date | None = None,
    serial_out: str | None = None,
    line: StockLine | None = None,
    moved_boards: Iterable[BoardMove] = (),
) -> Iterator[Refused]:
    """Everything that is wrong with a swap as far as it is known, each with its field and the remedy."""
    out = _installed(tag)
    if out is None:
        yield Refused(f"Nothing is installed at {tag}. Record what goes in with Install.", field="serial_out")
        return
    if serial_out is not None and not same_asset(serial_out, out.asset):
        yield Refused(
            f"The register has serial {out.asset.serial} at {tag}, not {serial_out}. Read the serial number again and "
            f"check that you stand at {tag}; if it is right, the register is wrong: tell the planner.",
            field="serial_out",
        )
    if on is not None:
        yield from _wrong_days(on, out, incoming)
    if incoming is not None:
        yield from _wrong_incoming(tag, out, incoming, line)
        yield from _wrong_boards(out.asset, incoming, tuple(moved_boards), on)


def same_asset(typed: str, asset: Asset) -> bool:
    """Whether what was typed or scanned is an asset's serial number or code."""
    return typed.strip().casefold() in (asset.serial.strip().casefold(), asset.code.casefold())


def _wrong_days(on: date, out: Installation, incoming: Asset | None) -> Iterator[Refused]:
    if on > timezone.localdate():
        yield Refused(f"{on} is in the future. Give the day on which the work was done.", field="on")
    if on < out.from_date:
        yield Refused(
            f"{out.asset.serial} went in on {out.from_date}, after {on}. Give a day from then on.", field="on"
        )
    last = _last_removal(incoming)
    if last is not None and on < last.to_date:
        yield Refused(
            f"{incoming.serial} came out of {last.tag} on {last.to_date}, after {on}. Give a day from then on.",
            field="on",
        )


def _last_removal(asset: Asset | None) -> Installation | None:
    if asset is None or asset.pk is None:
        return None
    return asset.installations.filter(to_date__isnull=False).select_related("tag").order_by("-to_date").first()


def _wrong_incoming(tag: Tag, out: Installation, incoming: Asset, line: StockLine | None) -> Iterator[Refused]:
    def refused(message: str) -> Refused:
        return Refused(message, field="incoming")

    if incoming.model.kind != ModelKind(tag.role):
        yield refused(f"{incoming.model} is of kind {incoming.model.kind}; {tag} needs a {tag.role}. Choose another.")
    if incoming.pk is None:
        if not incoming.serial.strip():
            yield refused("Type the serial number of what goes in.")
        elif Asset.objects.filter(model=incoming.model, serial__iexact=incoming.serial).exists():
            yield refused(f"{incoming.model} serial {incoming.serial} is in the register already. Choose that one.")
    elif incoming == out.asset:
        yield refused(f"{incoming.serial} is what is installed here. Read the serial number of what goes in.")
    elif (there := incoming.installations.current().select_related("tag").first()) is not None:
        yield refused(
            f"{incoming.serial} is installed at {there.tag}. Read the serial number again; if it is right, take it out "
            f"at {there.tag} first."
        )
    elif incoming.state == AssetState.SCRAPPED:
        yield refused(f"{incoming.serial} was scrapped. Choose another.")
    if line is not None and line.quantity < 1:
        yield refused(f"{line.store_place} holds no {line.model} any more. Choose another, or record it as new.")


def _wrong_boards(outgoing: Asset, incoming: Asset, moves: tuple[BoardMove, ...], on: date | None) -> Iterator[Refused]:
    bays = {bay.name: bay for bay in incoming.model.bays.prefetch_related("takes")}
    inside = {} if incoming.pk is None else {one.bay: one for one in _fittings(incoming)}
    fitted = {one.bay: one for one in _fittings(outgoing)}
    times = Counter(_what(move) for move in moves)
    for move in moves:
        field = f"bay-{move.bay}"
        model = _model_of(move, fitted)
        if on is not None and move.from_bay in fitted and on < (since := fitted[move.from_bay].from_date):
            yield Refused(
                f"{model} went into bay {move.from_bay} on {since}, after {on}. Give a later day.", field="on"
            )
        if model is None:
            yield Refused(f"Bay {move.from_bay} of what came out holds no board.", field=field)
        elif move.bay not in bays:
            names = ", ".join(bays) or "none"
            yield Refused(f"{incoming.model} has no bay {move.bay}. It has: {names}.", field=field)
        elif move.bay in inside:
            yield Refused(f"Bay {move.bay} holds {inside[move.bay].model} already. Leave it as it is.", field=field)
        elif model.family not in bays[move.bay].takes.all():
            takes = ", ".join(sorted(family.name for family in bays[move.bay].takes.all())) or "no board"
            yield Refused(
                f"Bay {move.bay} of {incoming.model} takes {takes}; {model} is a {model.family} board. Choose another "
                "bay or another board.",
                field=field,
            )
        elif times[_what(move)] > (move.line.quantity if move.line else 1):
            yield Refused(f"{model} is put in more bays than there are such boards. Empty one.", field=field)
        elif move.board is not None and move.board.fitted_in.current().exists():
            yield Refused(f"Board {move.board.serial} is fitted in a controller. Remove it there first.", field=field)


def _what(move: BoardMove) -> tuple:
    return move.from_bay, move.board and move.board.pk, move.line and move.line.pk


def _model_of(move: BoardMove, fitted: dict[str, BoardFitting]) -> CatalogueModel | None:
    if move.from_bay:
        return fitted[move.from_bay].model if move.from_bay in fitted else None
    return (move.board or move.line).model


def _installed(tag: Tag) -> Installation | None:
    return tag.installations.current().select_related("asset__model").first()


def _fittings(controller: Asset) -> Iterable[BoardFitting]:
    return controller.board_fittings.current().select_related("model__family", "board")


def _lock(incoming: Asset, line: StockLine | None, moves: tuple[BoardMove, ...]) -> None:
    """Hold what the swap takes from the store against others, and read it anew."""
    assets = [one for one in (incoming, *(move.board for move in moves)) if one is not None and one.pk]
    lines = [one for one in (line, *(move.line for move in moves)) if one is not None]
    list(Asset.objects.select_for_update().filter(pk__in=[one.pk for one in assets]).order_by("pk"))
    list(StockLine.objects.select_for_update().filter(pk__in=[one.pk for one in lines]).order_by("pk"))
    for one in (*assets, *lines):
        one.refresh_from_db()


def _move(move: BoardMove, fittings: dict[str, BoardFitting], incoming: Asset, on: date) -> None:
    old = fittings.get(move.from_bay)
    board = old.board if old else move.board
    if old is not None:
        old.to_date = on
        old.save(update_fields=["to_date"])
    model = _model_of(move, fittings)
    BoardFitting.objects.create(controller=incoming, bay=move.bay, model=model, board=board, from_date=on)


def _ports_follow(tag: Tag, bays: dict[str, str]) -> None:
    """Ports stay with the board that makes them when it moves to another bay."""
    for port in tag.ports.filter(bay__in=[old for old, new in bays.items() if old != new]):
        port.bay = bays[port.bay]
        port.save(update_fields=["bay"])


def new_code(serial: str) -> str:
    """A code for an asset that has none yet: its serial number, with a number behind it where that is taken."""
    stem = re.sub(r"[\s/?#%\\\x00-\x1f]+", "-", serial.strip())[:34]
    taken = set(Asset.objects.filter(code__startswith=stem).values_list("code", flat=True))
    return stem if stem not in taken else next(code for n in range(2, 10_000) if (code := f"{stem}-{n}") not in taken)
