from __future__ import annotations

from collections.abc import Iterator

from register.calc.thermocouples import emf, temperature
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import ColdJunction, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded

TERMINALS_C = 25.0


@rule(
    "cold-junction-missing",
    severity=Severity.WARNING,
    source="law of intermediate temperatures (NIST Monograph 175)",
    wrong=sketch.with_settings(sketch.thermocouple_loop(), "TIC-301", cold_junction=ColdJunction.NONE),
    right=sketch.thermocouple_loop(),
)
def cold_junction_missing(loop: Loop) -> Iterator[Finding]:
    """A thermocouple input measures the temperature at which couple alloy ends and copper begins, and adds it.

    Why: without it the reading is low by about the temperature of the terminals.

    Remedy: switch the compensation on, or fit an input that has one. Type B needs none.
    """
    for tag in loop.tags:
        settings = tag.settings
        if settings is None or settings.cold_junction != ColdJunction.NONE:
            continue
        if not settings.input_signal.startswith("tc-") or settings.input_signal == "tc-B":
            continue
        letter = settings.input_signal[3:]
        yield finding(
            tag,
            "its cold junction is not compensated: with terminals at {terminals} °C a true 100 °C reads {shown} °C",
            terminals=rounded(TERMINALS_C),
            shown=rounded(round(temperature(letter, emf(letter, 100, TERMINALS_C)))),
        )
