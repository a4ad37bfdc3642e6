from __future__ import annotations

from collections.abc import Iterator

from register.calc.intrinsic_safety import CAUTION, compare
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.hazardous import cable_run, certificate, device_values, is_recorded, safe_circuits, source_values
from register.rules.numbers import rounded


@rule(
    "safe-circuit-cable-not-recorded",
    severity=Severity.WARNING,
    source="IEC 60079-14 (defaults from memory)",
    wrong=sketch.barrier_loop(length_m="450", capacitance_pf_per_m=None),
    right=sketch.barrier_loop(length_m="300", capacitance_pf_per_m=None),
)
def safe_circuit_cable_not_recorded(loop: Loop) -> Iterator[Finding]:
    """A cable of an intrinsically safe circuit whose figures are not recorded fits the circuit by the default figures.

    These are 200 pF/m and 1 µH/m. The cable's length must be recorded in any case.

    Why: a limit is passed unnoticed on long runs.

    Remedy: record the cable's data sheet figures; if they do not fit either, shorten the run or change the barrier.
    """
    for circuit in safe_circuits(loop):
        run = cable_run(circuit.cables)
        if run is None:
            yield unknown(
                circuit.device,
                "the length of the cable of its intrinsically safe circuit is not recorded",
                place=circuit.place,
            )
            continue
        source = source_values(certificate(circuit.source))
        device = device_values(certificate(circuit.device), source) if source else None
        if is_recorded(circuit.cables) or device is None:
            continue  # the entity parameters are compared, or said to be missing, by another rule
        result = compare(source, device, run)
        faults = {
            "C": f"Ci and cable make {rounded(result.capacitance_nf)} nF, {rounded(result.co_nf)} nF are allowed",
            "L": f"Li and cable make {rounded(result.inductance_mh)} mH, {rounded(result.lo_mh)} mH are allowed",
        }
        exceeded = [words for letter, words in faults.items() if letter in result.fails]
        if exceeded:
            yield finding(
                circuit.device,
                "over {length} m of cable whose figures are not recorded, by the defaults {faults}. " + CAUTION,
                place=circuit.place,
                length=rounded(run.length_m),
                faults="; ".join(exceeded),
            )
