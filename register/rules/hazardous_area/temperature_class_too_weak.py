from __future__ import annotations

from collections.abc import Iterator

from register.calc.errors import CalculationError
from register.calc.intrinsic_safety import class_limit_c, class_suits
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.hazardous import certificate
from register.rules.numbers import rounded


@rule(
    "temperature-class-too-weak",
    severity=Severity.ERROR,
    source="IEC 60079-0 and -14",
    wrong=sketch.zoned_loop(temperature_class="T2", ignition_c="240"),
    right=sketch.zoned_loop(temperature_class="T3", ignition_c="240"),
)
def temperature_class_too_weak(loop: Loop) -> Iterator[Finding]:
    """The surface of equipment stays strictly below the ignition temperature of the gas.

    The class holds up to the ambient that the certificate states, 40 °C unless it says otherwise. For simple apparatus
    a class is worked out.

    Why: hot-surface ignition. The certificate and a competent person decide.

    Remedy: fit equipment of a class below the ignition temperature.
    """
    for tag in loop.tags:
        ex = certificate(tag)
        if not tag.zone or tag.ignition_c is None or ex is None or not (ex.protection or ex.simple_apparatus):
            continue
        if not ex.temperature_class:
            yield unknown(
                tag,
                "the gas ignites at {ignition} °C, but the temperature class of what stands here is not recorded",
                ignition=f"{tag.ignition_c:f}",
            )
            continue
        try:
            suits, limit = class_suits(ex.temperature_class, float(tag.ignition_c)), class_limit_c(ex.temperature_class)
        except CalculationError as fault:
            yield unknown(tag, "{fault}", fault=fault)
            continue
        if not suits:
            yield finding(
                tag,
                "it is of class {name} ({limit} °C); the gas ignites at {ignition} °C",
                name=ex.temperature_class,
                limit=rounded(limit),
                ignition=f"{tag.ignition_c:f}",
            )
