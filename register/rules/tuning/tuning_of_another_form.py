from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.keying import keying_order
from register.plant.tuning import as_taken_by
from register.plant.values import Loop, Settings
from register.plant.words import PidForm, Severity
from register.rules.engine import Finding, finding, rule

FORMS = ("proportional_as", "time_unit", "pid_form")
NUMBERS = ("proportional", "integral", "derivative")


@rule(
    "tuning-of-another-form",
    severity=Severity.WARNING,
    source="algebra of the PID forms",
    tolerance=("5", "%"),
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
def tuning_of_another_form(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """Tuning is keyed in the form and the units in which the fitted controller takes it.

    Where what was left in the controller is recorded, it is compared after conversion. Without derivative, the series
    and the ideal form agree.

    Why: gain against proportional band, repeats against seconds, series against ideal: the numbers only travel with
    their form; tuning is out by a factor, sometimes a hundred.

    Remedy: key in the converted numbers, then record them as left.
    """
    for tag in loop.controllers:
        settings, model, left = tag.settings, tag.model, tag.as_left
        if settings is None or model is None or settings.proportional is None:
            continue
        keyed = left if left is not None and left.proportional is not None else None
        try:
            needed = as_taken_by(settings, model)
            there = as_taken_by(keyed, model) if keyed else settings
        except CalculationError as fault:
            yield finding(
                tag,
                "its tuning is given as {given}; {model} cannot take it: {fault}",
                given=form_of(settings),
                model=model,
                fault=fault,
            )
            continue
        if form_of(needed) == form_of(keyed or settings) == form_of(settings):
            continue  # nothing was converted; numbers that differ are another rule's
        if all(alike(getattr(needed, name), getattr(there, name), tolerance) for name in NUMBERS):
            continue
        yield finding(
            tag,
            "its tuning is given as {given}; {model} takes {taken}: it needs {needed}"
            + (", and was left with {left}" if keyed else ""),
            given=form_of(settings),
            model=model,
            taken=form_of(needed),
            needed=words(needed),
            left=words(keyed) if keyed else "",
        )


def form_of(settings: Settings) -> str:
    return ", ".join(str(fact) for name in FORMS if (fact := getattr(settings, name)) is not None)


def alike(needed: Decimal | None, found: Decimal | None, tolerance_percent: Decimal) -> bool:
    needed, found = needed or Decimal(0), found or Decimal(0)
    return abs(needed - found) <= abs(needed) * tolerance_percent / 100


def words(settings: Settings) -> str:
    """The tuning as one keys it in."""
    alone = Settings(**{name: getattr(settings, name) for name in (*NUMBERS, *FORMS)})
    return ", ".join(f"{label.lower()} {text}" for label, text in keying_order(alone) if label != "PID form")
