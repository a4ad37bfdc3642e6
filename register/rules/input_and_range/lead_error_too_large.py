from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc import rtd
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded
from register.rules.reading import sensors_read
from register.rules.temperatures import working_c
from register.rules.wiring import conductors_ohm


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

    An element whose class is not recorded counts as class B.

    Why: the reading is high by a constant that drifts with the cable's temperature: 2.64 °C for each ohm on a Pt100.

    Remedy: run three or four wires, fit a Pt1000, or put a transmitter at the head.
    """
    for one in sensors_read(loop):
        settings, model = one.target_tag.settings, one.source_tag.model
        if model is None or not one.source.signal.startswith("pt"):
            continue
        if {model.wires, settings.input_wires if settings else None} - {None} != {2}:
            continue  # not two wires, or an input that another rule holds against them
        leads = conductors_ohm(one.link) if one.link.cores else None
        if leads is None:
            yield unknown(one.source_tag, "length or cross-section of its cable is not recorded", place="leads")
            continue
        at_c, name = working_c(loop, one), model.tolerance_class or "B"
        try:
            element = rtd.element(one.source.signal)
            error = rtd.lead_error_k(at_c, leads, element.r0_ohm, element.curve)
            allowed = rtd.tolerance_k(name, at_c, model.construction or "wire wound")
        except CalculationError:
            continue  # outside its class or its curve: another rule's
        if error > allowed * float(tolerance) / 100 + 1e-9:
            yield finding(
                one.source_tag,
                "its two leads add {leads} Ω, so at {at} °C it reads {error} °C high; class {name} allows {allowed} °C",
                place="leads",
                leads=rounded(leads),
                at=rounded(at_c),
                error=rounded(error),
                name=name,
                allowed=rounded(allowed),
            )
