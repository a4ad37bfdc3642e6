from __future__ import annotations

from collections.abc import Iterator

from register.calc import thermocouples
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import ColdJunction, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded
from register.rules.reading import sensors_read
from register.rules.temperatures import panel_c, working_c

HEAD_C = 60.0
"""Temperature of a head where none is recorded."""
COPPER = ("copper", "cu")


@rule(
    "wrong-extension-cable",
    severity=Severity.ERROR,
    source="IEC 60584-3:2007",
    wrong=sketch.with_cable(sketch.thermocouple_loop(range_="0-800 degC"), "TIC-301", "Input", designation="JX"),
    right=sketch.thermocouple_loop(),
)
def wrong_extension_cable(loop: Loop) -> Iterator[Finding]:
    """Between a couple and what reads it runs the extension or compensating cable made for its type.

    Copper is right only behind a reference junction of its own, which the input is then set to.

    Why: any other alloy puts an unwanted junction at the head: the error follows the head's temperature, and so the
    weather.

    Remedy: pull the cable of the couple's type, or put the transmitter at the head.
    """
    for one in sensors_read(loop):
        if not one.source.signal.startswith("tc-"):
            continue
        letter, settings = one.source.signal[3:], one.target_tag.settings
        external = settings is not None and settings.cold_junction == ColdJunction.EXTERNAL
        for cable in one.link.cables:
            made = thermocouples.extension_cables().get(cable.designation.upper())
            copper = cable.designation.lower() in COPPER
            if made is None and not copper:
                yield unknown(
                    one.source_tag,
                    "whether {cable} is an extension cable of type {letter} is not recorded"
                    if not cable.designation
                    else "{cable} is recorded as {designation}, which is no extension cable of IEC 60584-3",
                    place=cable.name,
                    cable=cable.name,
                    letter=letter,
                    designation=cable.designation,
                )
            elif not (external and copper) and (made is None or made.letter != letter):
                head_c = HEAD_C if one.source_tag.ambient_c is None else float(one.source_tag.ambient_c)
                true_c, at_panel_c = working_c(loop, one), panel_c(one.target_tag)
                yield finding(
                    one.source_tag,
                    "type {letter} runs in {cable} ({designation}): at a true {true} °C, head {head} °C and panel "
                    "{panel} °C, it reads {shown}",
                    place=cable.name,
                    letter=letter,
                    cable=cable.name,
                    designation=cable.designation,
                    true=rounded(true_c),
                    head=rounded(head_c),
                    panel=rounded(at_panel_c),
                    shown=shown(letter, made.letter if made else None, true_c, head_c, at_panel_c),
                )


def shown(letter: str, cable_letter: str | None, true_c: float, head_c: float, panel_c: float) -> str:
    try:
        shown_c = thermocouples.shown_with_wrong_cable(letter, cable_letter, true_c, head_c, panel_c)
    except CalculationError:
        return "off the scale"
    return f"{rounded(round(shown_c, 1))} °C"
