from __future__ import annotations

from collections.abc import Iterator

from register.calc import rtd, thermocouples
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.input_and_range.platinum_curve_differs import curves_of_one_resistance
from register.rules.numbers import rounded
from register.rules.reading import read_signal, sensors_read
from register.rules.temperatures import TERMINALS_C, working_c


@rule(
    "sensor-and-input-differ",
    severity=Severity.ERROR,
    source="IEC 60584-1:2013; IEC 60751:2008; NIST Monograph 175",
    wrong=sketch.thermocouple_loop(couple="tc-K", input_signal="tc-J"),
    right=sketch.thermocouple_loop(couple="tc-K", input_signal="tc-K"),
)
def sensor_and_input_differ(loop: Loop) -> Iterator[Finding]:
    """An input linearises for exactly the sensor that is wired to it.

    Two platinum elements of one resistance whose curves differ have a rule of their own.

    Why: each couple has its own reference function, so the wrong one gives a steady, believable, wrong reading and no
    fault; a Pt1000 on a Pt100 input is far over the range, a Pt100 on a Pt1000 input far under it.

    Remedy: set the input to the sensor's type, or fit the sensor that the input is set to.
    """
    for one in sensors_read(loop):
        sensor, set_to = one.source.signal, read_signal(one)
        if not set_to:
            yield unknown(one.target_tag, "what its input is set to is not recorded", place=one.target.name)
        elif set_to != sensor and not curves_of_one_resistance(sensor, set_to):
            yield finding(
                one.target_tag,
                "{sensor_tag} is a {sensor}, the input is set to {set_to}: {effect}",
                place=one.target.name,
                sensor_tag=one.source_tag.name,
                sensor=signal_label(sensor),
                set_to=signal_label(set_to),
                effect=effect(sensor, set_to, working_c(loop, one)),
            )


def effect(sensor: str, set_to: str, true_c: float) -> str:
    """What the input shows at a temperature of the sensor, or why it shows nothing of use."""
    try:
        if sensor.startswith("tc-") and set_to.startswith("tc-"):
            shown_c = thermocouples.shown_with_wrong_type(sensor[3:], set_to[3:], true_c, TERMINALS_C)
            return f"at a true {rounded(true_c)} °C it shows {rounded(round(shown_c, 1))} °C"
        if sensor.startswith("pt") and set_to.startswith("pt"):
            return resistance_effect(rtd.element(sensor), rtd.element(set_to), true_c)
    except CalculationError:
        return "the reading is off the scale"
    return "the reading means nothing"


def resistance_effect(sensor: rtd.Element, set_to: rtd.Element, true_c: float) -> str:
    ohm = rtd.resistance(true_c, sensor.r0_ohm, sensor.curve)
    low, high = (rtd.resistance(at, set_to.r0_ohm, set_to.curve) for at in (set_to.curve.t_min_c, set_to.curve.t_max_c))
    if low <= ohm <= high:
        shown_c = rtd.temperature(ohm, set_to.r0_ohm, set_to.curve)
        return f"at a true {rounded(true_c)} °C it shows {rounded(round(shown_c, 1))} °C"
    return (
        f"at {rounded(true_c)} °C it has {rounded(ohm)} Ω, the input takes {rounded(low)} to {rounded(high)} Ω: "
        f"it stays at the {'top' if ohm > high else 'bottom'}"
    )
