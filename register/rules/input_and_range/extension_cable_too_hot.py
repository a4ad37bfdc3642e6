from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc import thermocouples
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded
from register.rules.reading import sensors_read


@rule(
    "extension-cable-too-hot",
    severity=Severity.WARNING,
    source="IEC 60584-3:2007",
    wrong=sketch.with_cable(
        sketch.with_tag(sketch.thermocouple_loop(), "TE-301", ambient_c=Decimal(140)),
        "TIC-301",
        "Input",
        designation="KCB",
    ),
    right=sketch.with_tag(sketch.thermocouple_loop(), "TE-301", ambient_c=Decimal(140)),
)
def extension_cable_too_hot(loop: Loop) -> Iterator[Finding]:
    """Head and panel stay within the temperatures for which the extension or compensating cable is made.

    Why: compensating alloys match the couple over a short span only, so the error appears on hot days or near the
    furnace.

    Remedy: lay a cable made for the temperature (KX to 200 °C, KCA to 150 °C, KCB to 100 °C), or move the head.
    """
    for one in sensors_read(loop):
        if not one.source.signal.startswith("tc-"):
            continue
        ends = {"head": one.source_tag.ambient_c, "panel end": one.target_tag.ambient_c}
        for cable in one.link.cables:
            made = thermocouples.extension_cables().get(cable.designation.upper())
            if made is None:
                continue
            for end, ambient_c in ends.items():
                if ambient_c is not None and not made.t_min_c <= float(ambient_c) <= made.t_max_c:
                    yield finding(
                        one.source_tag,
                        "the {end} of {cable} reaches {ambient} °C; {designation} is made for {low} to {high} °C",
                        place=f"{cable.name} {end}",
                        end=end,
                        cable=cable.name,
                        ambient=f"{ambient_c:f}",
                        designation=made.designation,
                        low=rounded(made.t_min_c),
                        high=rounded(made.t_max_c),
                    )
            if ends["head"] is None and made.compensating:
                yield unknown(
                    one.source_tag,
                    "{designation} is made for {low} to {high} °C, but how hot its head becomes is not recorded",
                    place=f"{cable.name} head",
                    designation=made.designation,
                    low=rounded(made.t_min_c),
                    high=rounded(made.t_max_c),
                )
