from __future__ import annotations

from collections.abc import Iterator

from register.calc.control import Tuning, ideal_to_series, series_to_ideal
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.values import Loop, Settings
from register.plant.words import PidForm, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded


@rule(
    "tuning-of-another-form",
    severity=Severity.WARNING,
    source="algebra of the PID forms",
    wrong=sketch.with_settings(
        sketch.temperature_loop(),
        "TIC-101",
        pid_form=PidForm.SERIES,
        proportional=sketch.number(50),
        integral=sketch.number(40),
        derivative=sketch.number(20),
    ),
    right=sketch.temperature_loop(),
)
def tuning_of_another_form(loop: Loop) -> Iterator[Finding]:
    """Tuning is recorded in the form and the units in which the fitted controller takes it.

    Why: gain against proportional band, repeats against seconds, series against ideal: the numbers only travel with
    their form; tuning is out by a factor, sometimes a hundred.

    Remedy: convert the numbers to the controller's form and units before keying them.
    """
    for tag in loop.controllers:
        settings, model = tag.settings, tag.model
        if settings is None or model is None or settings.proportional is None:
            continue
        for what, typed, taken in (
            ("proportional action", settings.proportional_as, model.proportional_as),
            ("times", settings.time_unit, model.time_unit),
        ):
            if typed is not None and taken is not None and typed != taken:
                yield finding(
                    tag,
                    "its {what} is given as {typed}; {model} takes {taken}",
                    place=what,
                    what=what,
                    typed=typed,
                    model=model,
                    taken=taken,
                )
        if (
            settings.pid_form is not None
            and model.pid_form is not None
            and settings.pid_form != model.pid_form
            and settings.derivative
        ):
            yield finding(
                tag,
                "its tuning is of the {typed} form, {model} works in the {taken}"
                + ("; it needs {needed}" if (needed := converted(settings, model.pid_form)) else ""),
                place="form",
                typed=settings.pid_form,
                model=model,
                taken=model.pid_form,
                **({"needed": needed} if needed else {}),
            )


def converted(settings: Settings, to: PidForm) -> str:
    """The same tuning in the other form, as factors of what is typed; "" where there is none."""
    if not settings.integral or settings.derivative is None:
        return ""
    tuning = Tuning(1.0, float(settings.integral), float(settings.derivative))
    try:
        if (settings.pid_form, to) == (PidForm.SERIES, PidForm.IDEAL):
            there = series_to_ideal(tuning)
        elif (settings.pid_form, to) == (PidForm.IDEAL, PidForm.SERIES):
            there = ideal_to_series(tuning)
        else:
            return ""
    except CalculationError:
        return ""
    return (
        f"{rounded(round(there.gain, 2))} times the gain, integral {rounded(round(there.integral_time, 1))}, "
        f"derivative {rounded(round(there.derivative_time, 1))} {settings.time_unit or ''}".strip()
    )
