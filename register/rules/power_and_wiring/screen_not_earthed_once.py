from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import CableUse, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.wiring import cables_of


@rule(
    "screen-not-earthed-once",
    severity=Severity.WARNING,
    source="common practice; IEC 60079-14 for intrinsically safe circuits",
    wrong=sketch.with_cable(sketch.temperature_loop(), "TIC-101", "Input", screen_earthed_at=("junction box", "panel")),
    right=sketch.temperature_loop(),
)
def screen_not_earthed_once(loop: Loop) -> Iterator[Finding]:
    """The screen of an instrument cable is joined to earth at one point only, as a rule at the panel.

    Why: two earths make a loop that carries current and hum into the pair, and lightning into the input; none leaves
    the screen floating.

    Remedy: earth it at the panel, insulate it in the field.
    """
    for cable in cables_of(loop):
        if not cable.screened or cable.use == CableUse.POWER:
            continue
        places = cable.screen_earthed_at
        if not places:
            yield unknown(
                loop, "where the screen of {cable} is earthed is not recorded", place=cable.name, cable=cable.name
            )
        elif len(places) > 1:
            yield finding(
                loop,
                "the screen of {cable} is earthed at {places}",
                place=cable.name,
                cable=cable.name,
                places=" and ".join(places),
            )
