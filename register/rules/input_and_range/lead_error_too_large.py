from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc import loop_power, rtd
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.values import Link, Loop
from register.plant.words import Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded

AT_C = 100.0
"""Temperature at which the error is stated and held against the class."""


@rule(
    "lead-error-too-large",
    severity=Severity.WARNING,
    source="IEC 60751:2008; half the class tolerance is common practice, no source",
    tolerance=("50", "% of the class tolerance"),
    wrong=sketch.two_wire_pt_loop(signal="pt100"),
    right=sketch.two_wire_pt_loop(signal="pt1000"),
)
def lead_error_too_large(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """In a two-wire platinum circuit the leads add no more than half the tolerance of the element's class.

    Why: the reading is high by a constant that drifts with the cable's temperature: 2.64 °C for each ohm on a Pt100.

    Remedy: run three or four wires, fit a Pt1000, or put a transmitter at the head.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        settings, model = one.target_tag.settings, one.source_tag.model
        if one.source_tag.role != Role.SENSOR or not one.source.signal.startswith("pt"):
            continue
        wires = (settings.input_wires if settings else None) or (model.wires if model else None)
        if wires != 2 or model is None:
            continue
        leads = lead_resistance_ohm(one.link)
        if leads is None:
            yield unknown(one.source_tag, "length or cross-section of its cable is not recorded", place="leads")
            continue
        element = rtd.element(one.source.signal)
        error = rtd.lead_error_k(AT_C, leads, element.r0_ohm, element.curve)
        try:
            allowed = rtd.tolerance_k(model.tolerance_class or "B", AT_C, model.construction or "wire wound")
        except CalculationError:
            continue
        if error > allowed * float(tolerance) / 100:
            yield finding(
                one.source_tag,
                "its two leads add {leads} Ω, so at {at} °C it reads {error} °C high; class {name} allows {allowed} °C",
                place="leads",
                leads=rounded(leads),
                at=rounded(AT_C),
                error=rounded(error),
                name=model.tolerance_class or "B",
                allowed=rounded(allowed),
            )


def lead_resistance_ohm(link: Link) -> float | None:
    """There and back through every cable of a link; None where one is not known. Source: IEC 60228, class 2."""
    if not link.cables:
        return None
    total = 0.0
    for cable in link.cables:
        if cable.csa_mm2 is None or cable.length_m is None:
            return None
        try:
            per_km = loop_power.conductor_ohm_per_km(float(cable.csa_mm2))
        except CalculationError:
            per_km = 18.1 / float(cable.csa_mm2)  # a size between those of the table, by the 1 mm² conductor
        total += loop_power.run_ohm(per_km, float(cable.length_m))
    return total
