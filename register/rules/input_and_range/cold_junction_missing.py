from __future__ import annotations

from collections.abc import Iterator

from register.calc.errors import CalculationError
from register.calc.thermocouples import emf, temperature
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import ColdJunction, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded
from register.rules.reading import sensors_read
from register.rules.temperatures import panel_c

AT_C = 100.0
"""Temperature at which the misreading is stated."""


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
    for one in sensors_read(loop):
        tag, letter = one.target_tag, one.source.signal.removeprefix("tc-")
        if tag.settings is None or tag.settings.cold_junction != ColdJunction.NONE:
            continue
        if not one.source.signal.startswith("tc-") or letter == "B":
            continue
        terminals_c = panel_c(tag)
        try:
            shown_c = temperature(letter, emf(letter, AT_C, terminals_c))
            shown = f"a true {rounded(AT_C)} °C reads {rounded(round(shown_c))} °C"
        except CalculationError:
            shown = "every reading is low"
        yield finding(
            tag,
            "its cold junction is not compensated: with terminals at {terminals} °C {shown}",
            place=one.target.name,
            terminals=rounded(terminals_c),
            shown=shown,
        )
