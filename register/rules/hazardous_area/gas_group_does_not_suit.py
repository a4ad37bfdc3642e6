from __future__ import annotations

from collections.abc import Iterator

from register.calc.errors import CalculationError
from register.calc.intrinsic_safety import group_suits
from register.plant import sketch
from register.plant.values import ExData, Loop, Tag
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.hazardous import certificate, safe_circuits


@rule(
    "gas-group-does-not-suit",
    severity=Severity.ERROR,
    source="IEC 60079-14",
    wrong=sketch.zoned_loop(group="IIB", area_group="IIC"),
    right=sketch.zoned_loop(group="IIC", area_group="IIB"),
)
def gas_group_does_not_suit(loop: Loop) -> Iterator[Finding]:
    """Equipment, and what feeds it, is of a group at least as severe as the gas: IIC, then IIB, then IIA.

    Why: ignition. The certificate and a competent person decide.

    Remedy: fit equipment certified for the group of the gas.
    """
    for tag in loop.tags:
        ex = certificate(tag)
        if tag.zone and tag.gas_group and ex is not None and ex.protection and not ex.simple_apparatus:
            yield from judged(tag, ex, "it is certified for {given}; the area is {area}")
    for circuit in safe_circuits(loop):
        if circuit.device.zone and circuit.device.gas_group:
            yield from judged(
                circuit.device,
                certificate(circuit.source),
                "{source}, which feeds it, is certified for {given}; the area is {area}",
                source=circuit.source.name,
                place=circuit.place,
            )


def judged(tag: Tag, ex: ExData, message: str, place: str = "", **facts: str) -> Iterator[Finding]:
    if not ex.gas_group:
        whose = facts.get("source", "it")
        yield unknown(tag, "the gas group that {whose} is certified for is not recorded", place=place, whose=whose)
        return
    try:
        suits = group_suits(ex.gas_group, tag.gas_group)
    except CalculationError as fault:
        yield unknown(tag, "{fault}", place=place, fault=fault)
        return
    if not suits:
        yield finding(tag, message, place=place, given=ex.gas_group, area=tag.gas_group, **facts)
