from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop, Model
from register.plant.words import Severity, SupplyKind
from register.rules.engine import Finding, finding, rule

BELOW, ABOVE = Decimal("0.85"), Decimal("1.10")
"""Band about a supply that a data sheet gives as one figure: −15 and +10 %."""


@rule(
    "supply-voltage-differs",
    severity=Severity.ERROR,
    source="the instrument's data sheet; −15 and +10 % about a single figure is common practice, no source",
    wrong=sketch.with_model(
        sketch.temperature_loop(),
        "TIC-101",
        supply_kind=SupplyKind.AC_OR_DC,
        supply_low_v=sketch.number(24),
        supply_high_v=sketch.number(24),
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
        low, high = band(model)
        stated = {"model": model, "takes": takes(model)}
        if tag.supply_v is None:
            continue
        if not low <= tag.supply_v <= high:
            yield finding(
                tag,
                "{volts} V is at the place; {model} takes {takes}",
                place="voltage",
                volts=f"{tag.supply_v:f}",
                **stated,
            )
        elif (
            tag.supply_kind is not None
            and model.supply_kind not in (None, SupplyKind.AC_OR_DC)
            and tag.supply_kind not in (model.supply_kind, SupplyKind.AC_OR_DC)
        ):
            yield finding(
                tag,
                "{volts} V {kind} is at the place; {model} takes {takes}",
                place="kind",
                volts=f"{tag.supply_v:f}",
                kind=tag.supply_kind,
                **stated,
            )


def band(model: Model) -> tuple[Decimal, Decimal]:
    if model.supply_low_v == model.supply_high_v:
        return model.supply_low_v * BELOW, model.supply_high_v * ABOVE
    return model.supply_low_v, model.supply_high_v


def takes(model: Model) -> str:
    kind = f" {model.supply_kind}" if model.supply_kind else ""
    if model.supply_low_v == model.supply_high_v:
        return f"{model.supply_low_v:f} V{kind}"
    return f"{model.supply_low_v:f} to {model.supply_high_v:f} V{kind}"
