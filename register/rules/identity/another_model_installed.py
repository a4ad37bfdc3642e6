from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "another-model-installed",
    severity=Severity.ADVICE,
    source="common practice, no source",
    wrong=sketch.with_tag(sketch.temperature_loop(), "TV-101", specified=sketch.valve_model(name="Globe 50")),
    right=sketch.temperature_loop(),
)
def another_model_installed(loop: Loop) -> Iterator[Finding]:
    """What is installed is the model that the place calls for.

    Why: the next spare is chosen by the specification and may not fit what is there now.

    Remedy: change the specification if the swap is to stay, or put the specified model back.
    """
    for tag in loop.tags:
        if tag.asset is None or tag.specified is None:
            continue
        fitted, specified = tag.asset.model, tag.specified
        if (fitted.maker, fitted.name) != (specified.maker, specified.name):
            yield finding(
                tag,
                "{fitted} is installed, {specified} is specified"
                + (": it is its successor" if fitted.name == specified.successor else ""),
                fitted=fitted,
                specified=specified,
            )
