from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


def _with_second_supply(loop: Loop) -> Loop:
    loop = sketch.with_bays(loop, "PIC-201", bay_4="transmitter supply")
    loop = sketch.with_boards(loop, "PIC-201", bay_4=sketch.transmitter_supply_board())
    ports = loop.tag("PIC-201").ports
    return sketch.with_tag(loop, "PIC-201", ports=(*ports, replace(ports[-1], name="Supply 4", bay="4")))


@rule(
    "second-board-of-a-kind",
    severity=Severity.ERROR,
    source="the board's data sheet",
    wrong=_with_second_supply(sketch.pressure_loop()),
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
