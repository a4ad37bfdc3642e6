from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "board-unused",
    severity=Severity.ADVICE,
    source="common practice, no source",
    wrong=sketch.with_boards(sketch.temperature_loop(), "TIC-101", bay_3=sketch.serial_board()),
    right=sketch.temperature_loop(),
)
def board_unused(loop: Loop) -> Iterator[Finding]:
    """Every board that is fitted is used.

    Why: a spare board in service costs money and hides as a spare part.

    Remedy: assign it, take it to the store, or record why it is there as a concession.
    """
    for tag in loop.tags:
        if tag.asset is None:
            continue
        used = {port.bay for port in tag.ports}
        for board in tag.asset.boards:
            if board.bay not in used and tag.asset.model.bay(board.bay) is not None:
                yield finding(
                    tag,
                    "{board} in bay {bay} is used by nothing",
                    place=f"bay {board.bay}",
                    board=board.model,
                    bay=board.bay,
                )
