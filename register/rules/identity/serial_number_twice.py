from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "serial-number-twice",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.with_surroundings(sketch.temperature_loop(), same_serial={"A1012": ("A7777",)}),
    right=sketch.temperature_loop(),
)
def serial_number_twice(loop: Loop) -> Iterator[Finding]:
    """No two assets of one maker bear the same serial number.

    Why: one item is recorded twice, and its history and its calibration are split between the two.

    Remedy: read the number off the plate, and correct or scrap the false record.
    """
    for tag in loop.tags:
        others = loop.surroundings.same_serial.get(tag.asset.code, ()) if tag.asset else ()
        if others:
            yield finding(
                tag,
                "{asset} and {others} bear serial number {serial}",
                asset=tag.asset.code,
                others=" and ".join(others),
                serial=tag.asset.serial,
            )
