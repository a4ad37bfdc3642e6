from __future__ import annotations

from collections.abc import Iterator

from register.calc.intrinsic_safety import CAUTION, CableRun, compare
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.hazardous import cable_run, certificate, device_values, is_recorded, safe_circuits, source_values
from register.rules.numbers import rounded

NO_CABLE = CableRun(0, 0, 0)


@rule(
    "entity-parameters-exceeded",
    severity=Severity.ERROR,
    source="IEC 60079-14 and -25; the 1 % rule from memory",
    wrong=sketch.barrier_loop(ui_v="26"),
    right=sketch.barrier_loop(ui_v="30"),
)
def entity_parameters_exceeded(loop: Loop) -> Iterator[Finding]:
    """An associated apparatus gives no more than its device takes, and device and cable store no more than it allows.

    Where Ci and Li of the device both exceed 1 % of Co and Lo, the allowed Co and Lo are halved. What a cable stores
    whose figures are not recorded is judged by a rule of its own.

    Why: ignition. The certificate and a competent person decide; this comparison advises only.

    Remedy: choose a barrier or a device whose parameters fit, or a shorter cable; have a competent person prove it.
    """
    for circuit in safe_circuits(loop):
        source = source_values(certificate(circuit.source))
        device = device_values(certificate(circuit.device), source) if source else None
        if source is None or device is None:
            of = circuit.source if source is None else circuit.device
            yield unknown(
                circuit.device,
                "its circuit cannot be compared: not all entity parameters of {of} are recorded",
                place=circuit.place,
                of=of.name,
            )
            continue
        result = compare(source, device, (is_recorded(circuit.cables) and cable_run(circuit.cables)) or NO_CABLE)
        words = {
            "U": f"Uo {rounded(source.uo_v)} V is above Ui {rounded(device.ui_v)} V",
            "I": f"Io {rounded(source.io_ma)} mA is above Ii {rounded(device.ii_ma)} mA",
            "P": f"Po {rounded(source.po_mw)} mW is above Pi {rounded(device.pi_mw)} mW",
            "C": f"Ci and cable make {rounded(result.capacitance_nf)} nF, {rounded(result.co_nf)} nF are allowed",
            "L": f"Li and cable make {rounded(result.inductance_mh)} mH, {rounded(result.lo_mh)} mH are allowed",
        }
        if not result.passes:
            yield finding(
                circuit.device,
                "fed by {source}: {faults}. " + CAUTION,
                place=circuit.place,
                source=circuit.source.name,
                faults="; ".join(words[letter] for letter in result.fails),
            )
