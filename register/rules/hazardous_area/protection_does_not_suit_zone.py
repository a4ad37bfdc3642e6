from __future__ import annotations

from collections.abc import Iterator

from register.calc.errors import CalculationError
from register.calc.intrinsic_safety import protections_for
from register.plant import sketch
from register.plant.values import ExData, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown


@rule(
    "protection-does-not-suit-zone",
    severity=Severity.ERROR,
    source="IEC 60079-14 (from memory)",
    wrong=sketch.zoned_loop(zone="0", protection="ib"),
    right=sketch.zoned_loop(zone="1", protection="ib"),
)
def protection_does_not_suit_zone(loop: Loop) -> Iterator[Finding]:
    """What stands in a hazardous area is protected as its zone asks.

    Of intrinsic safety that is ia for zone 0, ia or ib for zone 1, ia, ib or ic for zone 2.

    Why: ignition. The certificate and a competent person decide.

    Remedy: fit equipment of the level that the zone asks for; have a competent person prove it.
    """
    for tag in loop.tags:
        if not tag.zone or tag.model is None:
            continue
        ex = tag.model.ex
        if ex is None or ex.simple_apparatus or not ex.protection:
            continue  # another rule asks for a certificate
        try:
            allowed = protections_for(tag.zone)
        except CalculationError as fault:
            yield unknown(tag, "{fault}", fault=fault)
            continue
        given = words(ex)
        if not given & set(allowed):
            yield finding(
                tag,
                "it stands in zone {zone} and is protected by {given}; the zone allows {allowed}",
                zone=tag.zone,
                given=ex.protection,
                allowed=", ".join(allowed),
            )


def words(ex: ExData) -> set[str]:
    """Types of protection as a set: "ia", or "d e"."""
    return set(ex.protection.replace(",", " ").replace("Ex", " ").split())
