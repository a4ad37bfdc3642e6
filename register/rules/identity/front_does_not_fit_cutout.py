from __future__ import annotations

from collections.abc import Iterator

from register.calc.errors import CalculationError
from register.calc.panel import cutout_mm, cutout_tolerance_mm, fits_cutout
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "front-does-not-fit-cutout",
    severity=Severity.WARNING,
    source="IEC 61554:1999 (formerly DIN 43700), from memory",
    wrong=sketch.with_tag(
        sketch.temperature_loop(), "TIC-101", cutout_width_mm=sketch.number(96), cutout_height_mm=sketch.number(96)
    ),
    right=sketch.with_tag(
        sketch.temperature_loop(),
        "TIC-101",
        cutout_width_mm=sketch.number("92.4"),
        cutout_height_mm=sketch.number("92.5"),
    ),
)
def front_does_not_fit_cutout(loop: Loop) -> Iterator[Finding]:
    """The panel hole follows the front of what is fitted: right way round, with plus tolerance only.

    Why: the instrument falls through, or the panel must be filed on site.

    Remedy: fit an instrument for this hole, an adaptor plate, or a new panel section.
    """
    for tag in loop.tags:
        model = tag.model
        if model is None or None in (
            tag.cutout_width_mm,
            tag.cutout_height_mm,
            model.front_width_mm,
            model.front_height_mm,
        ):
            continue
        front = float(model.front_width_mm), float(model.front_height_mm)
        try:
            width, height = cutout_mm(*front)
            fits = fits_cutout(*front, float(tag.cutout_width_mm), float(tag.cutout_height_mm))
        except CalculationError:
            continue  # a front outside the standard has its own drawing
        if not fits:
            yield finding(
                tag,
                "the hole is {hole_w} × {hole_h} mm; {model} with a front of {front_w} × {front_h} mm needs "
                "{width} (+{plus_w}) × {height} (+{plus_h}) mm",
                hole_w=f"{tag.cutout_width_mm:f}",
                hole_h=f"{tag.cutout_height_mm:f}",
                model=model,
                front_w=f"{model.front_width_mm:f}",
                front_h=f"{model.front_height_mm:f}",
                width=f"{width:g}",
                plus_w=f"{cutout_tolerance_mm(front[0]):g}",
                height=f"{height:g}",
                plus_h=f"{cutout_tolerance_mm(front[1]):g}",
            )
