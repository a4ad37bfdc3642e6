from __future__ import annotations

from collections.abc import Iterator

from register.calc.control import Tuning, band_of_gain, repeats_per_minute
from register.plant import sketch
from register.plant.values import Loop, Model, Settings
from register.plant.words import PidForm, ProportionalAs, Severity, TimeUnit
from register.rules.engine import Finding, finding, rule
from register.rules.tunings import SECONDS, ideal, in_form


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
def tuning_of_another_form(loop: Loop, tolerance) -> Iterator[Finding]:
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
        required = ideal(settings)
        keyed_as = left if left is not None and left.proportional is not None else None
        form = Form(model, settings)
        if not form.differs_from(keyed_as or settings) and not form.differs_from(settings):
            continue
        needed = form.words(required) if required else ""
        if keyed_as is not None:
            there = ideal(keyed_as)
            if required is None or there is None or alike(required, there, float(tolerance)):
                continue
            yield finding(
                tag,
                "its tuning is given as {given}; what was left in {model} is something else: it needs {needed}",
                given=given(settings),
                model=model,
                needed=needed or "converting",
            )
        else:
            yield finding(
                tag,
                "its tuning is given as {given}; {model} takes {taken}" + (": it needs {needed}" if needed else ""),
                given=given(settings),
                model=model,
                taken=form,
                needed=needed,
            )


class Form:
    """How a controller takes its tuning; what its data sheet does not say is as the settings have it."""

    def __init__(self, model: Model, settings: Settings):
        self.proportional_as = model.proportional_as or settings.proportional_as
        self.time_unit = model.time_unit or settings.time_unit
        self.pid_form = model.pid_form or settings.pid_form

    def __str__(self) -> str:
        return ", ".join(str(part) for part in (self.proportional_as, self.time_unit, self.pid_form) if part)

    def differs_from(self, settings: Settings) -> bool:
        return (
            settings.proportional_as not in (None, self.proportional_as)
            or (settings.time_unit not in (None, self.time_unit) and bool(settings.integral or settings.derivative))
            or (settings.pid_form not in (None, self.pid_form) and bool(settings.derivative))
        )

    def words(self, tuning: Tuning) -> str:
        """An ideal tuning as this form has it typed; "" where it cannot."""
        there = in_form(tuning, self.pid_form)
        if there is None or self.time_unit is None or self.proportional_as is None:
            return ""
        if self.proportional_as == ProportionalAs.GAIN:
            parts = [f"gain {there.gain:.3g}"]
        else:
            parts = [f"proportional band {band_of_gain(there.gain):.3g} %"]
        repeats = self.time_unit == TimeUnit.REPEATS_PER_MINUTE
        unit = 60 if repeats else SECONDS[self.time_unit]
        if there.integral_time != float("inf"):
            value = repeats_per_minute(there.integral_time) if repeats else there.integral_time / unit
            parts.append(f"integral {value:.3g} {self.time_unit}")
        if there.derivative_time:
            parts.append(f"derivative {there.derivative_time / unit:.3g} {'min' if repeats else self.time_unit}")
        return ", ".join(parts)


def given(settings: Settings) -> str:
    return ", ".join(
        str(part) for part in (settings.proportional_as, settings.time_unit, settings.pid_form) if part is not None
    )


def alike(one: Tuning, other: Tuning, tolerance_percent: float) -> bool:
    """Whether two ideal tunings agree within a per cent of the first."""
    pairs = (
        (one.gain, other.gain),
        (one.integral_time, other.integral_time),
        (one.derivative_time, other.derivative_time),
    )
    return all(a == b or abs(a - b) <= abs(a) * tolerance_percent / 100 for a, b in pairs)
