from __future__ import annotations

from collections.abc import Iterator

from register.calc.intrinsic_safety import (
    CAUTION,
    DEFAULT_CAPACITANCE_PF_PER_M,
    DEFAULT_INDUCTANCE_UH_PER_M,
    CableRun,
    Comparison,
    Device,
    Source,
    compare,
)
from register.plant import sketch
from register.plant.values import Connection, ExData, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded

WORDS = {
    "U": "Uo {uo} V is above Ui {ui} V",
    "I": "Io {io} mA is above Ii {ii} mA",
    "P": "Po {po} mW is above Pi {pi} mW",
    "C": "Ci and cable make {c} nF, {co} nF are allowed",
    "L": "Li and cable make {l} mH, {lo} mH are allowed",
}


@rule(
    "entity-parameters-exceeded",
    severity=Severity.ERROR,
    source="IEC 60079-14 and -25; the 1 % rule and cable defaults from memory",
    wrong=sketch.barrier_loop(ui_v="26"),
    right=sketch.barrier_loop(ui_v="30"),
)
def entity_parameters_exceeded(loop: Loop) -> Iterator[Finding]:
    """An associated apparatus gives no more than the device takes; device and cable store no more than it allows.

    Where Ci and Li of the device both exceed 1 % of Co and Lo, the allowed Co and Lo are halved. Where cable data are
    not recorded, 200 pF/m and 1 µH/m count.

    Why: ignition. The certificate and a competent person decide; this comparison advises only.

    Remedy: choose a barrier or a device whose parameters fit, or a shorter cable; have a competent person prove it.
    """
    for one, source, device in safe_circuits(loop):
        cable = cable_run(one)
        if cable is None:
            yield unknown(
                one.source_tag,
                "the length of the cable of its intrinsically safe circuit is not recorded",
                place=one.source.name,
            )
            continue
        given = source_values(source)
        taken = device_values(device)
        if given is None or taken is None:
            which = "of the source" if given is None else "of the device"
            yield unknown(
                one.source_tag, "the entity parameters {which} are not recorded", place=one.source.name, which=which
            )
            continue
        result = compare(given, taken, cable)
        if not result.passes:
            yield finding(
                one.source_tag,
                "{faults}. " + CAUTION,
                place=one.source.name,
                faults="; ".join(fault_words(result, given, taken)),
            )


def safe_circuits(loop: Loop) -> Iterator[tuple[Connection, ExData, ExData]]:
    """Links between an associated apparatus (it has Uo) and a device in the field (it has Ui), whichever sends."""
    for one in loop.connections():
        ends = [tag.model.ex for tag in (one.source_tag, one.target_tag) if tag.model and tag.model.ex]
        giving = next((ex for ex in ends if ex.uo_v is not None), None)
        taking = next((ex for ex in ends if ex.uo_v is None and ex.ui_v is not None), None)
        if giving is not None and taking is not None:
            yield one, giving, taking


def cable_run(one: Connection) -> CableRun | None:
    """The link's cables as one; None where a length is missing."""
    cables = one.link.cables
    if not cables or any(cable.length_m is None for cable in cables):
        return None
    length = sum(float(cable.length_m) for cable in cables)
    if length == 0:
        return CableRun(0, 0, 0)
    capacitance = inductance = 0.0
    for cable in cables:
        capacitance += float(cable.capacitance_pf_per_m or DEFAULT_CAPACITANCE_PF_PER_M) * float(cable.length_m)
        inductance += float(cable.inductance_uh_per_m or DEFAULT_INDUCTANCE_UH_PER_M) * float(cable.length_m)
    return CableRun(capacitance / length, inductance / length, length)


def source_values(ex: ExData) -> Source | None:
    values = (ex.uo_v, ex.io_ma, ex.po_mw, ex.co_nf, ex.lo_mh)
    return None if None in values else Source(*map(float, values))


def device_values(ex: ExData) -> Device | None:
    values = (ex.ui_v, ex.ii_ma, ex.pi_mw)
    return None if None in values else Device(*map(float, values), float(ex.ci_nf or 0), float(ex.li_mh or 0))


def fault_words(result: Comparison, source: Source, device: Device) -> list[str]:
    numbers = {
        "uo": source.uo_v, "ui": device.ui_v, "io": source.io_ma, "ii": device.ii_ma,
        "po": source.po_mw, "pi": device.pi_mw,
        "c": result.capacitance_nf, "co": result.co_nf, "l": result.inductance_mh, "lo": result.lo_mh,
    }  # fmt: skip
    shown = {name: rounded(value) for name, value in numbers.items()}
    return [WORDS[letter].format_map(shown) for letter in result.fails]
