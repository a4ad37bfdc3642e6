from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "second-board-of-a-kind",
    severity=Severity.ERROR,
    source="the board's data sheet",
    wrong=sketch.with_boards(sketch.pressure_loop(), "PIC-201", bay_2=sketch.transmitter_supply_board()),
    right=sketch.pressure_loop(),
)
def second_board_of_a_kind(loop: Loop) -> Iterator[Finding]:
    """A controller holds one board at most of a kind of which it takes one only.

    Why: the second is not seen, or the two answer at once.

    Remedy: take one out, or fit a board of another family.
    """
    for tag in loop.tags:
        if tag.asset is None:
            continue
        bays: dict[str, list[str]] = {}
        for board in tag.asset.boards:
            if board.model.one_per_controller:
                bays.setdefault(board.model.family, []).append(board.bay)
        for family, places in bays.items():
            if len(places) > 1:
                yield finding(
                    tag,
                    "bays {bays} hold {family} boards; it takes one",
                    place=family,
                    bays=" and ".join(sorted(places)),
                    family=family,
                )
