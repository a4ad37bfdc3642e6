from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop, TerminalUse
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule

_USES = (
    TerminalUse(cable="C-1011", core="1", place="TIC-101", terminal="Input 1", link="TE-101 → TIC-101", loop="T-101"),
    TerminalUse(cable="C-900", core="4", place="TIC-101", terminal="Input 1", link="TE-109 → TIC-109", loop="T-109"),
)


@rule(
    "terminal-used-twice",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_surroundings(sketch.temperature_loop(), terminals=_USES),
    right=sketch.with_surroundings(sketch.temperature_loop(), terminals=_USES[:1]),
)
def terminal_used_twice(loop: Loop) -> Iterator[Finding]:
    """A terminal carries one circuit: cores of links that have no tag in common do not meet on it.

    Links of one tag may meet: a supply that several take from, readers in series. A screen's terminal is earth, and
    carries many.

    Why: two signals are joined, or the drawing cannot be wired.

    Remedy: give one of the links another terminal; where the join is meant, record it as one link.
    """
    if not loop.surroundings.terminals:
        return
    screens = {
        end
        for link in loop.links
        for core in link.cores
        if core.polarity == "screen"
        for end in ((core.from_place, core.from_terminal), (core.to_place, core.to_terminal))
    }
    by_terminal: dict[tuple[str, str], list[TerminalUse]] = {}
    for use in loop.surroundings.terminals:
        if (use.place, use.terminal) not in screens:
            by_terminal.setdefault((use.place, use.terminal), []).append(use)
    for (place, terminal), uses in by_terminal.items():
        mine = [use for use in uses if use.loop == loop.number]
        strangers = [use for use in uses if mine and not any(tags_of(use) & tags_of(one) for one in mine)]
        strangers += [one for one in mine[1:] if not tags_of(one) & tags_of(mine[0])]
        if strangers:
            yield finding(
                loop,
                "terminal {terminal} at {where} carries {links}",
                place=f"{place} {terminal}",
                terminal=terminal,
                where=place,
                links=" and ".join(sorted({f"{use.link} ({use.loop})" for use in (*mine[:1], *strangers)})),
            )


def tags_of(use: TerminalUse) -> set[str]:
    return set(use.link.split(" → "))
