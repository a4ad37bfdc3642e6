from __future__ import annotations

from collections.abc import Iterator

from register.calc.errors import CalculationError
from register.calc.intrinsic_safety import protections_for
from register.plant import sketch
from register.plant.values import ExData, Loop, Tag
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.hazardous import certificate, protections, safe_circuits


@rule(
    "protection-does-not-suit-zone",
    severity=Severity.ERROR,
    source="IEC 60079-14 (from memory)",
    wrong=sketch.zoned_loop(zone="0", protection="ib"),
    right=sketch.zoned_loop(zone="1", protection="ib"),
)
def protection_does_not_suit_zone(loop: Loop) -> Iterator[Finding]:
    """What stands in a hazardous area, and what feeds it, is protected as the zone asks.

    Of intrinsic safety that is ia for zone 0, ia or ib for zone 1, ia, ib or ic for zone 2.

    Why: ignition. The certificate and a competent person decide.

    Remedy: fit equipment of the level that the zone asks for; have a competent person prove it.
    """
    for tag in loop.tags:
        ex = certificate(tag)
        if tag.zone and ex is not None and not ex.simple_apparatus:
            yield from judged(tag, ex, "it stands in zone {zone}, protected by {given}; the zone allows {allowed}")
    for circuit in safe_circuits(loop):
        if circuit.device.zone:
            yield from judged(
                circuit.device,
                certificate(circuit.source),
                "it stands in zone {zone}, and {source} feeds it by {given}; the zone allows {allowed}",
                source=circuit.source.name,
                place=circuit.place,
            )


def judged(tag: Tag, ex: ExData, message: str, place: str = "", **facts: str) -> Iterator[Finding]:
    given = protections(ex)
    if not given:
        return  # another rule asks for a certificate
    try:
        allowed = protections_for(tag.zone)
    except CalculationError as fault:
        yield unknown(tag, "{fault}", place=place, fault=fault)
        return
    if not given & set(allowed):
        yield finding(
            tag, message, place=place, zone=tag.zone, given=ex.protection, allowed=", ".join(allowed), **facts
        )
