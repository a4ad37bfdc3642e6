from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule

_OLD = sketch.with_model(sketch.temperature_loop(), "TIC-101", obsolete=True, successor="Regent 98")


@rule(
    "obsolete-without-spare",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.with_surroundings(_OLD, spares={"Fennel Row Regent 96": 0}),
    right=sketch.with_surroundings(_OLD, spares={"Fennel Row Regent 96": 1}),
)
def obsolete_without_spare(loop: Loop) -> Iterator[Finding]:
    """A model that is no longer made has a spare in the store, its own or its successor.

    Why: the loop is one failure from stopping, and nothing can be ordered.

    Remedy: buy one while it can be had, or plan the change to its successor.
    """
    for tag in loop.tags:
        model = tag.model
        # what is in store is known only of a plant as it stands, never of an old revision
        if model is not None and model.obsolete and loop.surroundings.spares.get(str(model)) == 0:
            yield finding(
                tag,
                "{model} is no longer made and none is in store"
                + ("; {successor} follows it" if model.successor else ""),
                model=model,
                **({"successor": model.successor} if model.successor else {}),
            )
