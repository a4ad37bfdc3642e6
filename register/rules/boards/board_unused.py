from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "board-unused",
    severity=Severity.ADVICE,
    source="common practice, no source",
    wrong=sketch.with_boards(sketch.temperature_loop(), "TIC-101", bay_3=sketch.serial_board()),
    right=sketch.temperature_loop(),
)
def board_unused(loop: Loop) -> Iterator[Finding]:
    """Every board that is fitted is used; a serial board is on a bus.

    Why: a spare board in service costs money and hides as a spare part.

    Remedy: assign it, take it to the store, or record why it is there as a concession.
    """
    for tag in loop.tags:
        if tag.asset is None:
            continue
        used = {port.bay: port for port in tag.ports if port.bay}
        on_bus = tag.settings is not None and tag.settings.serial is not None
        for board in tag.asset.boards:
            if tag.asset.model.bay(board.bay) is None:
                continue  # another rule says that there is no such bay
            port = used.get(board.bay)
            if port is None:
                what = "is used by nothing"
            elif port.purpose == Purpose.SERIAL and not on_bus:
                what = "has no bus and no address"
            else:
                continue
            yield finding(
                tag,
                "{board} in bay {bay} " + what,
                place=f"bay {board.bay}",
                board=board.model,
                bay=board.bay,
            )
