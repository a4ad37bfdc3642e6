from __future__ import annotations

from collections.abc import Iterator

from register.calc import rtd, thermocouples
from register.calc.errors import CalculationError
from register.calc.signals import SIGNALS
from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded

TERMINALS_C = 25.0
"""Ambient at the terminals that the stated misreading assumes."""


@rule(
    "sensor-and-input-differ",
    severity=Severity.ERROR,
    source="IEC 60584-1:2013; IEC 60751:2008; NIST Monograph 175",
    wrong=sketch.thermocouple_loop(couple="tc-K", input_signal="tc-J"),
    right=sketch.thermocouple_loop(couple="tc-K", input_signal="tc-K"),
)
def sensor_and_input_differ(loop: Loop) -> Iterator[Finding]:
    """An input linearises for exactly the sensor that is wired to it.

    Why: each couple and each platinum curve has its own reference function, so the wrong one gives a steady,
    believable, wrong reading and no fault.

    Remedy: set the input to the sensor's type, or fit the sensor that the input is set to.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        sensor = SIGNALS.get(one.source.signal)
        if sensor is None or sensor.kind not in ("thermocouple", "resistance thermometer"):
            continue
        settings = one.target_tag.settings
        set_to = (settings.input_signal if settings else "") or one.target.signal
        if not set_to:
            yield unknown(one.target_tag, "what its input is set to is not recorded", place=one.target.name)
        elif set_to != sensor.key:
            yield finding(
                one.target_tag,
                "{sensor_tag} is a {sensor}, the input is set to {set_to}: {effect}",
                place=one.target.name,
                sensor_tag=one.source_tag.name,
                sensor=sensor.label,
                set_to=signal_label(set_to),
                effect=_effect(sensor.key, set_to, one.target_tag.range),
            )


def _effect(sensor: str, set_to: str, measured) -> str:
    """What the input shows in the middle of its range, or why it shows nothing of use."""
    true_c = float(measured.to("CEL").value_at(50)) if measured and measured.dimension == "temperature" else 100.0
    try:
        if sensor.startswith("tc-") and set_to.startswith("tc-"):
            shown_c = thermocouples.shown_with_wrong_type(sensor[3:], set_to[3:], true_c, TERMINALS_C)
        else:
            shown_c = rtd.shown_with_wrong_curve(true_c, rtd.element(sensor), rtd.element(set_to))
    except CalculationError:
        return "the reading is off the scale or means nothing"
    return f"at a true {rounded(true_c)} °C it shows {rounded(round(shown_c, 1))} °C"
