from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity, SupplyKind
from register.rules.engine import Finding, finding, rule


@rule(
    "supply-voltage-differs",
    severity=Severity.ERROR,
    source="the instrument's data sheet; IEC 60654-2 gives supply classes (from memory)",
    wrong=sketch.with_model(
        sketch.temperature_loop(), "TIC-101", supply_low_v=sketch.number(20), supply_high_v=sketch.number(28)
    ),
    right=sketch.temperature_loop(),
)
def supply_voltage_differs(loop: Loop) -> Iterator[Finding]:
    """The supply at the place is of the kind and within the band that what is fitted there takes.

    Why: the instrument is destroyed, or never starts. Mains: isolate first, licensed people only.

    Remedy: fit the version for this supply, or bring the right supply to the place.
    """
    for tag in loop.tags:
        model = tag.model
        if model is None or model.supply_low_v is None or model.supply_high_v is None:
            continue
        takes = f"{model.supply_low_v:f} to {model.supply_high_v:f} V {model.supply_kind or ''}".strip()
        if tag.supply_v is not None and not model.supply_low_v <= tag.supply_v <= model.supply_high_v:
            yield finding(
                tag,
                "{volts} V is at the place; {model} takes {takes}",
                place="voltage",
                volts=f"{tag.supply_v:f}",
                model=model,
                takes=takes,
            )
        elif (
            tag.supply_kind is not None
            and model.supply_kind not in (None, SupplyKind.AC_OR_DC)
            and tag.supply_kind not in (model.supply_kind, SupplyKind.AC_OR_DC)
        ):
            yield finding(
                tag,
                "{kind} is at the place; {model} takes {takes}",
                place="kind",
                kind=tag.supply_kind,
                model=model,
                takes=takes,
            )
