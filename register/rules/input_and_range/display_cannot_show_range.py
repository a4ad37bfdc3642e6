from __future__ import annotations

from collections.abc import Iterator

from register.calc.ranges import fits_display
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "display-cannot-show-range",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.thermocouple_loop(), "TIC-301", decimals=1),
    right=sketch.thermocouple_loop(),
)
def display_cannot_show_range(loop: Loop) -> Iterator[Finding]:
    """The display has digits enough for both ends of the range with the decimals that are set.

    Why: the top of the range shows as over-range or loses its first digit.

    Remedy: set fewer decimals, or a unit in which the numbers are smaller.
    """
    for tag in loop.tags:
        settings, model = tag.settings, tag.model
        if settings is None or settings.range is None or settings.decimals is None or model is None:
            continue
        if model.display_digits and not fits_display(settings.range, model.display_digits, settings.decimals):
            yield finding(
                tag,
                "{digits} digits with {decimals} after the point cannot show {range}",
                digits=model.display_digits,
                decimals=settings.decimals,
                range=settings.range,
            )
