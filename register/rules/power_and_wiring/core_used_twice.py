from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Link, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


def _on_one_cable(loop: Loop) -> Loop:
    """The control signal on the cores of the measurement."""
    first, second, *_ = loop.links
    return sketch.with_link(loop, second.target_tag, second.target_port, cores=first.cores[:2])


@rule(
    "core-used-twice",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=_on_one_cable(sketch.temperature_loop()),
    right=sketch.temperature_loop(),
)
def core_used_twice(loop: Loop) -> Iterator[Finding]:
    """A core belongs to one circuit of its loop.

    Readers in series on one output share its cores.

    Why: two signals are joined, or the drawing cannot be wired.

    Remedy: correct the core that is recorded, or give one of the links another.
    """
    users: dict[tuple[str, str], list[Link]] = {}
    for link in loop.links:
        for key in sorted({(core.cable.name, core.core) for core in link.cores if core.polarity != "screen"}):
            users.setdefault(key, []).append(link)
    for (cable, core), links in users.items():
        if len({(link.source_tag, link.source_port) for link in links}) > 1:
            yield finding(
                loop,
                "core {core} of {cable} carries {links}",
                place=f"{cable} core {core}",
                core=core,
                cable=cable,
                links=" and ".join(sorted(link.label for link in links)),
            )
