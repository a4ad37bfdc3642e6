from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Role, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "ambient-beyond-rating",
    severity=Severity.WARNING,
    source="the instrument's data sheet",
    tolerance=("0", "°C to spare"),
    wrong=sketch.with_tag(sketch.temperature_loop(), "TIC-101", ambient_c=sketch.number("58.2")),
    right=sketch.with_tag(sketch.temperature_loop(), "TIC-101", ambient_c=sketch.number("44.5")),
)
def ambient_beyond_rating(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """The place of an instrument becomes no hotter than what its data sheet allows.

    Why: drift and a short life.

    Remedy: ventilate or cool the place, shade it, or fit an instrument for the temperature.
    """
    for tag in loop.tags:
        most = tag.model.ambient_max_c if tag.model and tag.role != Role.SENSOR else None
        if most is not None and tag.ambient_c is not None and tag.ambient_c + tolerance > most:
            yield finding(
                tag,
                "its place reaches {ambient} °C; {model} is made for {most} °C",
                ambient=f"{tag.ambient_c:f}",
                model=tag.model,
                most=f"{most:f}",
            )
