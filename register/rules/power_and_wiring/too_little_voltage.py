from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc import loop_power
from register.plant import sketch
from register.plant.values import Connection, Loop, Tag
from register.plant.words import Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.input_and_range.lead_error_too_large import lead_resistance_ohm
from register.rules.numbers import rounded
from register.rules.power_and_wiring.two_wire_supply_not_one import feeds


@rule(
    "too-little-voltage",
    severity=Severity.ERROR,
    source="Ohm's law; NAMUR NE 43 for the fault current; 22.5 mA without data is common practice, no source",
    tolerance=("0", "V spare"),
    wrong=sketch.burden_loop(input_ohm="600", csa_mm2="0.5", length_m="1000"),
    right=sketch.burden_loop(input_ohm="250", csa_mm2="1.5", length_m="300"),
)
def too_little_voltage(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """At its greatest current a two-wire transmitter still has its least voltage, after input, barrier and cable.

    The greatest current is the high fault current, not 20 mA.

    Why: the reading sticks below full scale, and the high fault can never be told.

    Remedy: a higher supply, a thicker or shorter cable, a lower input resistance, or an isolator with its own supply.
    """
    for tag in loop.with_role(Role.TRANSMITTER):
        if tag.model is None or tag.model.wires != 2:
            continue
        for reading in loop.links_out_of(tag, Purpose.MEASUREMENT):
            sender = tag.model_port(reading.source)
            if sender is None or sender.min_terminal_v is None:
                continue
            supply = supply_of(loop, tag, reading)
            if supply is None:
                continue
            volts, source_ohm, name = supply
            cable_ohm = lead_resistance_ohm(reading.link)
            if cable_ohm is None:
                yield unknown(tag, "length or cross-section of its cable is not recorded", place=reading.source.name)
                continue
            reader = reading.target_tag.model_port(reading.target)
            own_ohm = float(reader.resistance_ohm) if reader and reader.resistance_ohm is not None else 0.0
            through = reading.target_tag.model.series_resistance_ohm if reading.target_tag.model else None
            burden = own_ohm + float(through or 0) + float(reading.link.shunt_ohm or 0) + source_ohm + cable_ohm
            current = float(sender.failure_high_ma or loop_power.DEFAULT_FAULT_MA)
            left = loop_power.transmitter_v(volts, burden, current)
            if left < float(sender.min_terminal_v + tolerance):
                yield finding(
                    tag,
                    "{supply} gives {volts} V; through {burden} Ω at {current} mA {left} V are left, {needed} V needed",
                    place=reading.source.name,
                    supply=name,
                    volts=rounded(volts),
                    burden=rounded(round(burden, 1)),
                    current=rounded(current),
                    left=rounded(round(left, 1)),
                    needed=f"{sender.min_terminal_v + tolerance:f}",
                )


def supply_of(loop: Loop, tag: Tag, reading: Connection) -> tuple[float, float, str] | None:
    """Voltage, source resistance and name of what feeds a two-wire circuit; None where that is not known."""
    for one in loop.links_into(tag, Purpose.TRANSMITTER_SUPPLY):
        source = one.source_tag.model_port(one.source)
        if source is not None and source.supply_v is not None:
            name = f"{one.source_tag.name} {one.source.name}"
            return float(source.supply_v), float(source.supply_resistance_ohm or 0), name
        return None
    if feeds(reading.target_tag, reading):
        source = reading.target_tag.model_port(reading.target)
        if source is not None and source.supply_v is not None:
            name = f"{reading.target_tag.name} {reading.target.name}"
            return float(source.supply_v), float(source.supply_resistance_ohm or 0), name
    return None
