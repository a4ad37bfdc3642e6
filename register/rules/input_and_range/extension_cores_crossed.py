from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from register.calc import thermocouples
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.values import Link, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.input_and_range.wrong_extension_cable import HEAD_C
from register.rules.numbers import rounded
from register.rules.reading import sensors_read
from register.rules.temperatures import panel_c, working_c


def _coloured(loop: Loop, *colours: str) -> Loop:
    link = next(one for one in loop.links if one.target_port == "Input")
    cores = tuple(replace(core, colour=colour) for core, colour in zip(link.cores, colours, strict=True))
    return sketch.with_link(loop, link.target_tag, link.target_port, cores=cores)


@rule(
    "extension-cores-crossed",
    severity=Severity.WARNING,
    source="IEC 60584-3:2007; ANSI MC96.1 / ASTM E230",
    wrong=_coloured(sketch.thermocouple_loop(range_="0-800 degC"), "white", "green"),
    right=_coloured(sketch.thermocouple_loop(), "green", "white"),
)
def extension_cores_crossed(loop: Loop) -> Iterator[Finding]:
    """The colours of an extension cable's cores agree with the polarity that is recorded for them.

    Red is negative in the American code and positive in the old German and Japanese ones.

    Why: crossed at both ends, the reading is wrong by about twice the difference between head and panel.

    Remedy: check the polarity at both ends; record the colour code that the plant uses.
    """
    for one in sensors_read(loop):
        colours = colours_by_polarity(one.link) if one.source.signal.startswith("tc-") else ()
        if not colours:
            continue
        letter = one.source.signal[3:]
        codes = [code for code in thermocouples.cable_colours() if code.letter.split()[0] == letter]
        if any(colours == (code.positive, code.negative) for code in codes):
            continue
        turned = [code.standard for code in codes if colours[::-1] == (code.positive, code.negative)]
        if turned:
            head_c = HEAD_C if one.source_tag.ambient_c is None else float(one.source_tag.ambient_c)
            true_c, at_panel_c = working_c(loop, one), panel_c(one.target_tag)
            yield finding(
                one.source_tag,
                "its + core is {plus} and its − core {minus}: by {standard} that is crossed. Crossed at both ends, at "
                "a true {true} °C, head {head} °C and panel {panel} °C, it reads {shown}",
                plus=colours[0],
                minus=colours[1],
                standard=turned[0],
                true=rounded(true_c),
                head=rounded(head_c),
                panel=rounded(at_panel_c),
                shown=shown(letter, true_c, head_c, at_panel_c),
            )


def colours_by_polarity(link: Link) -> tuple[str, ...]:
    """Colours of the first + and the first − core, where both are recorded."""
    found = {core.polarity: core.colour.lower() for core in reversed(link.cores) if core.colour}
    return (found["+"], found["-"]) if "+" in found and "-" in found else ()


def shown(letter: str, true_c: float, head_c: float, panel_c: float) -> str:
    try:
        shown_c = thermocouples.shown_with_crossed_cable(letter, true_c, head_c, panel_c)
    except CalculationError:
        return "off the scale"
    return f"{rounded(round(shown_c, 1))} °C"
