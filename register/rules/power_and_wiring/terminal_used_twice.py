from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop, TerminalUse
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule

_MINE = TerminalUse(
    cable="C-1011", core="1", place="TIC-101", terminal="Input 1", link="TE-101 → TIC-101", loop="T-101"
)


@rule(
    "terminal-used-twice",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_surroundings(
        sketch.temperature_loop(),
        terminals=(
            _MINE,
            TerminalUse(
                cable="C-900", core="4", place="TIC-101", terminal="Input 1", link="TE-109 → TIC-109", loop="T-109"
            ),
        ),
    ),
    right=sketch.temperature_loop(),
)
def terminal_used_twice(loop: Loop) -> Iterator[Finding]:
    """A terminal carries one connection: two cores of different links do not meet on it.

    Why: two signals are joined, or the drawing cannot be wired.

    Remedy: give one of the links another terminal; where the join is meant, record it as one link.
    """
    by_terminal: dict[tuple[str, str], list[TerminalUse]] = {}
    for use in loop.surroundings.terminals:
        by_terminal.setdefault((use.place, use.terminal), []).append(use)
    for (place, terminal), uses in by_terminal.items():
        links = sorted({f"{use.link} ({use.loop})" for use in uses})
        if len(links) > 1:
            yield finding(
                loop,
                "terminal {terminal} at {where} carries {links}",
                place=f"{place} {terminal}",
                terminal=terminal,
                where=place,
                links=" and ".join(links),
            )
