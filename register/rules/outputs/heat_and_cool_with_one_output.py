from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import ControlForm, Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "heat-and-cool-with-one-output",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.temperature_loop(), "TIC-101", control=ControlForm.HEAT_COOL),
    right=sketch.heat_cool_loop(),
)
def heat_and_cool_with_one_output(loop: Loop) -> Iterator[Finding]:
    """A controller set to heat and cool can do so, by an output for each or one split between both elements.

    Why: one single output can only do one of the two: no cooling, and overshoot where the process makes heat.

    Remedy: fit and assign a second output of a fitting kind, split the one output, or set the control to single output.
    """
    for tag in loop.controllers:
        if tag.settings is None or tag.settings.control != ControlForm.HEAT_COOL:
            continue
        if tag.model is not None and tag.model.heat_cool is False:
            yield finding(
                tag,
                "it is set to heat and cool, which {model} cannot",
                place="model",
                model=tag.model,
            )
        heating = tag.ports_for(Purpose.CONTROL, Direction.OUT)
        cooling = tag.ports_for(Purpose.COOLING_CONTROL, Direction.OUT)
        if heating and cooling:
            continue
        served = [one.target for one in loop.links_out_of(tag) if one.source in (*heating, *cooling)]
        split = [port for port in served if port.split_low_percent is not None and port.split_high_percent is not None]
        if len(split) < 2:
            has = "only a heating output" if heating else "only a cooling output" if cooling else "no control output"
            yield finding(tag, "it is set to heat and cool, but has {has}", has=has)
