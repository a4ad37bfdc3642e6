from __future__ import annotations

from collections.abc import Iterator

from register.calc import thermocouples
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.values import Cable, Loop
from register.plant.words import CableUse, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded

HEAD_C, PANEL_C = 60.0, 25.0
"""Head and panel temperatures that the stated misreading assumes where none are recorded."""


@rule(
    "wrong-extension-cable",
    severity=Severity.ERROR,
    source="IEC 60584-3:2007",
    wrong=sketch.with_cable(sketch.thermocouple_loop(range_="0-800 degC"), "TIC-301", "Input", designation="JX"),
    right=sketch.thermocouple_loop(),
)
def wrong_extension_cable(loop: Loop) -> Iterator[Finding]:
    """Between a couple and what reads it runs the extension or compensating cable made for its type.

    Why: any other alloy puts an unwanted junction at the head: the error follows the head's temperature, and so the
    weather.

    Remedy: pull the cable of the couple's type, or put the transmitter at the head.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        if one.source_tag.role != Role.SENSOR or not one.source.signal.startswith("tc-"):
            continue
        letter = one.source.signal[3:]
        for cable in one.link.cables:
            if not cable.designation and cable.use != CableUse.THERMOCOUPLE:
                yield unknown(
                    one.source_tag,
                    "whether {cable} is an extension cable of type {letter} is not recorded",
                    place=cable.name,
                    cable=cable.name,
                    letter=letter,
                )
            elif (of_cable := cable_letter(cable)) != letter:
                head_c = HEAD_C if one.source_tag.ambient_c is None else float(one.source_tag.ambient_c)
                measured = one.target_tag.range
                true_c = float(measured.to("CEL").value_at(50)) if measured else 400.0
                yield finding(
                    one.source_tag,
                    "type {letter} runs in {cable} ({designation}): at a true {true} °C, head {head} °C and "
                    "panel {panel} °C, it reads {shown}",
                    place=cable.name,
                    letter=letter,
                    cable=cable.name,
                    designation=cable.designation or "type not recorded",
                    true=rounded(true_c),
                    head=rounded(head_c),
                    panel=rounded(PANEL_C),
                    shown=_shown(letter, of_cable, true_c, head_c),
                )


def cable_letter(cable: Cable) -> str | None:
    """The couple that a cable is made for; None: copper or another alloy."""
    made = thermocouples.extension_cables().get(cable.designation.upper())
    return made.letter if made else None


def _shown(letter: str, of_cable: str | None, true_c: float, head_c: float) -> str:
    try:
        shown_c = thermocouples.shown_with_wrong_cable(letter, of_cable, true_c, head_c, PANEL_C)
    except CalculationError:
        return "off the scale"
    return f"{rounded(round(shown_c, 1))} °C"
