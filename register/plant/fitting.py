"""The loop as it would be with another instrument or board fitted: pure values, for the rules to judge."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import TypeVar

from msgspec.structs import replace

from register.calc.errors import CalculationError
from register.calc.panel import cutout_mm
from register.plant.values import Asset, FittedBoard, Loop, Model, Tag
from register.plant.words import AssetState

Item = TypeVar("Item")


def bays_for(boards: Iterable[FittedBoard], model: Model, taken: Iterable[str] = ()) -> dict[str, str]:
    """Where boards go in another controller: old bay → new bay, as many boards as can be placed.

    A board keeps its bay where that takes it and is free. ``taken`` are bays that hold a board already. A board that
    no free bay takes is left out.
    """
    boards, taken = tuple(boards), set(taken)

    def choices(board: FittedBoard) -> list[str]:
        free = [bay.name for bay in model.bays if bay.name not in taken and board.model.family in bay.takes]
        return sorted(free, key=lambda name: name != board.bay)

    holder = assigned(sorted(boards, key=lambda board: board.bay not in choices(board)), choices)
    return {board.bay: bay for bay, board in sorted(holder.items(), key=lambda item: item[1].bay)}


def assigned(items: Iterable[Item], choices: Callable[[Item], Iterable[str]]) -> dict[str, Item]:
    """As many items as can be, each at a place of its own among its choices, the earlier choices first: by place.

    Found by augmenting paths, so no item is left out because another sits badly.
    """
    holder: dict[str, Item] = {}

    def place(item: Item, tried: set[str]) -> bool:
        for name in choices(item):
            if name not in tried:
                tried.add(name)
                if name not in holder or place(holder[name], tried):
                    holder[name] = item
                    return True
        return False

    for item in items:
        place(item, set())
    return holder


def with_model(
    loop: Loop,
    name: str,
    model: Model,
    boards: Iterable[FittedBoard] = (),
    *,
    moved: Mapping[str, str] | None = None,
    asset: Asset | None = None,
) -> Loop:
    """The loop with a model, and boards in it, at one of its tags.

    Ports follow a board that is ``moved`` from one bay to another. What was left in the old instrument says nothing of
    the new one. ``asset`` is the item, where it is known which.
    """
    item = asset or Asset(code="", serial="", model=model, state=AssetState.IN_SERVICE)
    moved = moved or {}

    def changed(tag: Tag) -> Tag:
        if tag.name != name:
            return tag
        return replace(
            tag,
            asset=replace(item, model=model, state=AssetState.IN_SERVICE, boards=tuple(boards)),
            as_left=None,
            ports=tuple(replace(port, bay=moved.get(port.bay, port.bay)) for port in tag.ports),
        )

    return replace(loop, tags=tuple(map(changed, loop.tags)))


def with_board(loop: Loop, name: str, bay: str, board: Model) -> Loop:
    """The loop with a board in a bay of the controller at a tag, in place of what the bay holds."""
    tag = loop.tag(name)
    others = (fitted for fitted in tag.asset.boards if fitted.bay != bay)
    changed = replace(tag, asset=replace(tag.asset, boards=(*others, FittedBoard(bay=bay, model=board))))
    return replace(loop, tags=tuple(changed if one.name == name else one for one in loop.tags))


def takes_adaptor_plate(model: Model, hole_width_mm: Decimal | None, hole_height_mm: Decimal | None) -> bool:
    """Whether the hole is larger both ways than the front needs, so that a plate can close it.

    Source: cut-outs of IEC 61554:1999; that a plate then helps is common practice, no source.
    """
    if None in (hole_width_mm, hole_height_mm, model.front_width_mm, model.front_height_mm):
        return False
    try:
        width, height = cutout_mm(float(model.front_width_mm), float(model.front_height_mm))
    except CalculationError:
        return False
    return width <= float(hole_width_mm) and height <= float(hole_height_mm)
