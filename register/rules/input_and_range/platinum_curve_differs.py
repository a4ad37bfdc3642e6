from __future__ import annotations

from collections.abc import Iterator

from register.calc import rtd
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded
from register.rules.reading import read_signal, sensors_read
from register.rules.temperatures import working_c


@rule(
    "platinum-curve-differs",
    severity=Severity.WARNING,
    source="IEC 60751:2008; JIS C 1604:1981 and older curves",
    wrong=sketch.platinum_loop("pt100-3916"),
    right=sketch.platinum_loop("pt100"),
)
def platinum_curve_differs(loop: Loop) -> Iterator[Finding]:
    """A platinum element and the input that reads it follow one curve.

    New work is 0.003851 throughout; old Japanese and American elements are not, and look the same.

    Why: the error grows with temperature and passes as drift.

    Remedy: set the input to the element's curve, or fit an element of the curve that the input knows.
    """
    for one in sensors_read(loop):
        sensor, set_to = one.source.signal, read_signal(one)
        if sensor == set_to or not curves_of_one_resistance(sensor, set_to):
            continue
        true_c = working_c(loop, one)
        try:
            shown_c = rtd.shown_with_wrong_curve(true_c, rtd.element(sensor), rtd.element(set_to))
        except CalculationError:
            shown_c = None
        yield finding(
            one.target_tag,
            "{sensor_tag} is a {sensor}, the input is set to {set_to}"
            + ("" if shown_c is None else ": at a true {true} °C it shows {shown} °C"),
            place=one.target.name,
            sensor_tag=one.source_tag.name,
            sensor=signal_label(sensor),
            set_to=signal_label(set_to),
            **({} if shown_c is None else {"true": rounded(true_c), "shown": rounded(round(shown_c, 2))}),
        )


def curves_of_one_resistance(sensor: str, set_to: str) -> bool:
    """Whether two signals are platinum elements of one resistance at 0 °C."""
    return sensor.startswith("pt") and set_to.startswith("pt") and sensor.partition("-")[0] == set_to.partition("-")[0]
