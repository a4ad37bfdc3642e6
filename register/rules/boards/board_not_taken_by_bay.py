from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "board-not-taken-by-bay",
    severity=Severity.ERROR,
    source="the model's data sheet",
    wrong=sketch.with_bays(sketch.pressure_loop(), "PIC-201", bay_3="digital input, serial"),
    right=sketch.temperature_loop(),
)
def board_not_taken_by_bay(loop: Loop) -> Iterator[Finding]:
    """A board sits in a bay that takes its family.

    Why: in another bay the controller does not see it, or its terminals carry what they must not.

    Remedy: move the board to a bay that takes it, or fit a board of a family that this bay takes.
    """
    for tag in loop.tags:
        if tag.asset is None:
            continue
        for board in tag.asset.boards:
            bay = tag.asset.model.bay(board.bay)
            if bay is None:
                yield finding(
                    tag,
                    "{board} is recorded in bay {bay}, which {model} has not",
                    place=f"bay {board.bay}",
                    board=board.model,
                    bay=board.bay,
                    model=tag.asset.model,
                )
            elif board.model.family not in bay.takes:
                yield finding(
                    tag,
                    "{board} ({family}) is in bay {bay}, which takes {takes}",
                    place=f"bay {board.bay}",
                    board=board.model,
                    family=board.model.family,
                    bay=board.bay,
                    takes=", ".join(bay.takes) or "no board",
                )
