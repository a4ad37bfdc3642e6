from __future__ import annotations

from collections.abc import Iterator

from register.calc.errors import CalculationError
from register.calc.intrinsic_safety import group_suits
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown


@rule(
    "gas-group-does-not-suit",
    severity=Severity.ERROR,
    source="IEC 60079-14",
    wrong=sketch.zoned_loop(group="IIB", area_group="IIC"),
    right=sketch.zoned_loop(group="IIC", area_group="IIB"),
)
def gas_group_does_not_suit(loop: Loop) -> Iterator[Finding]:
    """Equipment is of a group at least as severe as the gas: IIC, then IIB, then IIA.

    Why: ignition. The certificate and a competent person decide.

    Remedy: fit equipment certified for the group of the gas.
    """
    for tag in loop.tags:
        ex = tag.model.ex if tag.model else None
        if not tag.zone or not tag.gas_group or ex is None or not ex.gas_group:
            continue
        try:
            suits = group_suits(ex.gas_group, tag.gas_group)
        except CalculationError as fault:
            yield unknown(tag, "{fault}", fault=fault)
            continue
        if not suits:
            yield finding(
                tag, "it is certified for {given}; the area is {area}", given=ex.gas_group, area=tag.gas_group
            )
