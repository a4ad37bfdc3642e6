from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Direction, Purpose, SetPointSource, Severity
from register.rules.engine import Finding, finding, rule

REMOTE = (SetPointSource.REMOTE, SetPointSource.LOCAL_OR_REMOTE)


@rule(
    "remote-set-point-without-input",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_boards(sketch.cascade(), "TIC-102", bay_3=None),
    right=sketch.cascade(),
)
def remote_set_point_without_input(loop: Loop) -> Iterator[Finding]:
    """A controller that is set to a remote set point has a board or input that takes one, and something is wired to it.

    Why: without it the controller stays at its local set point, or at nothing.

    Remedy: fit a board of the family remote set point in a bay that takes it and wire the source to it, or set the
    set-point source to local.
    """
    for tag in loop.controllers:
        if tag.settings is None or tag.settings.set_point_source not in REMOTE:
            continue
        ports = tag.ports_for(Purpose.REMOTE_SET_POINT, Direction.IN)
        if not ports:
            yield finding(
                tag,
                "its set-point source is {source}, but it has no remote set-point input",
                source=tag.settings.set_point_source,
            )
        for port in ports:
            if tag.model is None:
                continue
            if tag.provider(port) is None:
                yield finding(
                    tag,
                    "{port} needs a board in bay {bay}, which is empty",
                    place=port.name,
                    port=port.name,
                    bay=port.bay,
                )
            elif tag.model_port(port) is None:
                yield finding(
                    tag,
                    "{port}: {model} takes no remote set point by this signal",
                    place=port.name,
                    port=port.name,
                    model=tag.provider(port),
                )
            elif not any(one.target == port for one in loop.links_into(tag)):
                yield finding(tag, "nothing is wired to {port}", place=port.name, port=port.name)
