from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc import loop_power
from register.calc.signals import MEASURING_HIGH_MA
from register.plant import sketch
from register.plant.values import Loop, ModelPort, Tag
from register.plant.words import Direction, FaultDirection, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded
from register.rules.wiring import Circuit, circuit, feeds


@rule(
    "too-little-voltage",
    severity=Severity.ERROR,
    source="Ohm's law; NAMUR NE 43 for the fault current; 22.5 mA without data is common practice, no source",
    tolerance=("0", "V to spare"),
    wrong=sketch.burden_loop(input_ohm="600", csa_mm2="0.5", length_m="1000"),
    right=sketch.burden_loop(input_ohm="250", csa_mm2="1.5", length_m="300"),
)
def too_little_voltage(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """At its greatest current a two-wire transmitter keeps its least voltage, after input, barrier and cable.

    The greatest current is the high fault current, not 20 mA; of a transmitter that fails low, 20.5 mA.

    Why: the reading sticks below full scale, and a high fault can never be told.

    Remedy: a higher supply, a thicker or shorter cable, a lower input resistance, or an isolator with its own supply.
    """
    for tag in loop.with_role(Role.TRANSMITTER):
        if tag.model is None or tag.model.wires != 2:
            continue
        for port in tag.ports_for(Purpose.MEASUREMENT, Direction.OUT):
            sender, whole = tag.model_port(port), circuit(loop, tag, port)
            source = source_of(whole)
            if sender is None or source is None:
                continue  # what feeds it, or that nothing does, is another rule's
            name, supply = source
            if supply is None:
                continue  # a supply that no board gives is another rule's
            if supply.supply_v is None:
                yield unknown(tag, "the voltage that {supply} gives is not recorded", place=port.name, supply=name)
                continue
            if sender.min_terminal_v is None:
                yield unknown(tag, "the least voltage that it works at is not recorded", place=port.name)
                continue
            parts, missing = whole.parts_ohm()
            burden = sum(parts.values()) + float(supply.supply_resistance_ohm or 0)
            current = greatest_ma(tag, sender)
            left = loop_power.transmitter_v(float(supply.supply_v), burden, current)
            needed = sender.min_terminal_v + tolerance
            stated = {
                "supply": name,
                "volts": f"{supply.supply_v:f}",
                "burden": rounded(round(burden, 1)),
                "current": rounded(current),
                "left": rounded(left),
                "needed": f"{needed:f}",
            }
            if left < float(needed) - 1e-9:
                yield finding(
                    tag,
                    "{supply} gives {volts} V; through {burden} Ω at {current} mA {left} V are left, {needed} V needed",
                    place=port.name,
                    **stated,
                )
            elif missing:
                yield unknown(
                    tag,
                    "of the {left} V left at {current} mA it needs {needed} V, but {missing} is not recorded",
                    place=port.name,
                    missing=" and ".join(missing),
                    **stated,
                )
            elif sender.max_terminal_v is not None and supply.supply_v > sender.max_terminal_v:
                yield finding(
                    tag,
                    "{supply} gives {volts} V; it stands {most} V",
                    place=port.name,
                    supply=name,
                    volts=f"{supply.supply_v:f}",
                    most=f"{sender.max_terminal_v:f}",
                )


def source_of(whole: Circuit) -> tuple[str, ModelPort | None] | None:
    """Name and data sheet of the one port that feeds a circuit; None where it is not one."""
    feeding = [(one.source_tag, one.source) for one in whole.supplies]
    feeding += [(one.target_tag, one.target) for one in whole.readers if feeds(one)]
    if len(feeding) != 1:
        return None
    ((tag, port),) = feeding
    return f"{tag.name} {port.name}", tag.model_port(port)


def greatest_ma(tag: Tag, sender: ModelPort) -> float:
    """The greatest current that a transmitter draws: its high fault current, else the top of the measuring band."""
    if tag.fault_direction == FaultDirection.DOWNSCALE:
        return MEASURING_HIGH_MA
    return loop_power.DEFAULT_FAULT_MA if sender.failure_high_ma is None else float(sender.failure_high_ma)
