"""Controllers: forms, tuning, direction; and the letters of a tag."""

from __future__ import annotations

import math

from django import forms
from django.utils.translation import gettext_lazy as _

from register.calc import control, identity
from register.calc.control import ParallelTuning, Process, Tuning
from register.calc.errors import CalculationError, NoEquivalent
from register.web.calculators.base import Answers, Calculator, Number, Table, Verdict, options, significant

TIMES = [("s", "s"), ("min", "min")]


def in_s_and_min(seconds: float) -> str:
    if math.isinf(seconds) or seconds == 0:
        return "none"
    return f"{significant(seconds, 5, 's')} = {significant(seconds / 60, 5, 'min')}"


class FormsCalculator(Calculator):
    slug = "pid-forms"
    title = _("Forms and units of PID settings")
    purpose = "Settings of one controller as another controller wants them."
    source = "Algebra of the ideal, series and parallel forms; ISA-51.1 for band and reset rate"

    form_ = forms.ChoiceField(
        initial="series", choices=options("ideal", "series", "parallel"), label=_("Form they are in")
    )
    proportional = Number("2", label=_("Proportional"))
    proportional_as = forms.ChoiceField(
        initial="gain", choices=[("gain", "gain"), ("band", "band, %")], label=_("Proportional is a")
    )
    integral = Number("40", label=_("Integral"), help_text=_("0 for none. In the parallel form: Ki in 1/s."))
    integral_as = forms.ChoiceField(
        initial="s",
        choices=[("s", "time, s"), ("min", "time, min"), ("repeats", "repeats per min"), ("gain", "gain Ki, 1/s")],
        label=_("Integral is a"),
    )
    derivative = Number("20", label=_("Derivative"), help_text=_("0 for none. In the parallel form: Kd in s."))
    derivative_as = forms.ChoiceField(
        initial="s",
        choices=[("s", "time, s"), ("min", "time, min"), ("gain", "gain Kd, s")],
        label=_("Derivative is a"),
    )

    def calculate(
        self, form_, proportional, proportional_as, integral, integral_as, derivative, derivative_as
    ) -> Answers:
        parallel = form_ == "parallel"
        if parallel != (integral_as == "gain") or parallel != (derivative_as == "gain"):
            raise CalculationError(
                "The parallel form, and no other, has gains Ki and Kd: choose what integral and derivative are."
            )
        gain = control.gain_of_band(proportional) if proportional_as == "band" else proportional
        if parallel:
            ideal = control.parallel_to_ideal(ParallelTuning(gain, integral, derivative))
        else:
            given = Tuning(gain, _integral_s(integral, integral_as), derivative * (60 if derivative_as == "min" else 1))
            ideal = given if form_ == "ideal" else control.series_to_ideal(given)
        gains = control.ideal_to_parallel(ideal)
        answers = Answers()
        rows = [("Ideal", ideal)]
        try:
            rows.append(("Series", control.ideal_to_series(ideal)))
        except NoEquivalent as reason:
            answers.verdicts.append(Verdict("warning", f"No series controller can do this: {reason}"))
        answers.tables = [
            Table(
                "In each form",
                ("Form", "Gain", "Band", "Integral time", "Repeats per min", "Derivative time"),
                [
                    (
                        name,
                        significant(one.gain, 5),
                        significant(control.band_of_gain(one.gain), 5, "%"),
                        in_s_and_min(one.integral_time),
                        "none"
                        if math.isinf(one.integral_time)
                        else significant(control.repeats_per_minute(one.integral_time), 5),
                        in_s_and_min(one.derivative_time),
                    )
                    for name, one in rows
                ],
            )
        ]
        answers.facts = [
            ("Parallel Kp", significant(gains.proportional, 5)),
            ("Parallel Ki", significant(gains.integral, 5, "1/s")),
            ("Parallel Kd", significant(gains.derivative, 5, "s")),
        ]
        return answers


def _integral_s(integral: float, unit: str) -> float:
    if integral == 0:
        return math.inf
    return {"s": integral, "min": integral * 60}.get(unit) or control.integral_time_s(integral)


class TuningCalculator(Calculator):
    slug = "tuning"
    title = _("Tuning from a step response")
    purpose = "Starting values by eight rules, from gain, time constant and dead time."
    source = "Ziegler and Nichols 1942, Cohen and Coon 1953, Rivera et al. 1986, Tyreus and Luyben 1992, Skogestad 2003"
    caution = (
        "Starting values. Tune with somebody at the valve, within the limits that the process bears, and never a "
        "safety function."
    )

    gain = Number(
        "2", signed=True, label=_("Gain"), help_text=_("Change of the measured value in % for 1 % of output.")
    )
    time_constant = Number("10", label=_("Time constant"))
    dead_time = Number("2", label=_("Dead time"), help_text=_("In the same unit; so are the answers."))
    closed_loop_time = Number(
        "10",
        label=_("Closed-loop time wanted"),
        help_text=_("For lambda, IMC and SIMC; SIMC is tight at the dead time."),
    )

    def calculate(self, gain, time_constant, dead_time, closed_loop_time) -> Answers:
        process = Process(gain, time_constant, dead_time)
        ku, pu = control.ultimate(process)
        sign = math.copysign(1, gain)
        found = [
            *(
                ("Ziegler–Nichols, step", mode, control.ziegler_nichols_reaction_curve(process, mode))
                for mode in ("P", "PI", "PID")
            ),
            *(
                ("Ziegler–Nichols, ultimate", mode, control.ziegler_nichols(ku, pu, mode))
                for mode in ("P", "PI", "PID")
            ),
            *(("Tyreus–Luyben", mode, control.tyreus_luyben(ku, pu, mode)) for mode in ("PI", "PID")),
            *(("Cohen–Coon", mode, control.cohen_coon(process, mode)) for mode in ("P", "PI", "PID")),
            ("Lambda", "PI", control.lambda_pi(process, closed_loop_time)),
            ("IMC", "PID", control.imc_pid(process, closed_loop_time)),
            ("SIMC", "PI", control.simc_pi(process, closed_loop_time)),
        ]
        rows = []
        for rule, mode, one in found:
            band = significant(control.band_of_gain(abs(one.gain)), 4, "%")
            times = (one.integral_time, one.derivative_time)
            shown = ["none" if math.isinf(time) or time == 0 else significant(time, 4) for time in times]
            rows.append((rule, mode, significant(abs(one.gain), 4), band, *shown))
        return Answers(
            facts=[
                ("Ultimate gain", significant(ku, 4)),
                ("Ultimate period", significant(pu, 4)),
                ("Action", "reverse" if sign > 0 else "direct"),
            ],
            tables=[
                Table(
                    "Settings, ideal form", ("Rule", "Mode", "Gain", "Band", "Integral time", "Derivative time"), rows
                )
            ],
        )


class ActionCalculator(Calculator):
    slug = "action"
    title = _("Action and fail position")
    purpose = "Which way a controller must act, and where its valve goes when the air is lost."
    source = "Common practice: the product of all signs round the loop must be negative"
    caution = "Choose the fail position for safety first, then the action to suit; the plant's safety study decides."

    valve = forms.ChoiceField(initial="air-to-open", choices=options("air-to-open", "air-to-close"))
    process_sign = forms.ChoiceField(
        initial="1",
        label=_("As the valve opens, the measured value"),
        choices=[("1", "rises (heating, filling)"), ("-1", "falls (cooling, draining)")],
    )
    inverted = forms.BooleanField(required=False, label=_("A positioner or converter reverses the signal"))

    def calculate(self, valve, process_sign, inverted) -> Answers:
        return Answers(
            facts=[
                ("Controller", f"{control.action_needed(valve, int(process_sign), inverted)} acting"),
                ("Without air the valve is", control.fail_position(valve)),
            ]
        )


class TagCalculator(Calculator):
    slug = "tag-letters"
    title = _("Letters of a tag")
    purpose = "What the letters of a tag say, one by one."
    source = "ANSI/ISA-5.1-2009, table 4.1"

    tag = forms.CharField(initial="PDT-0203", max_length=40)

    def calculate(self, tag) -> Answers:
        name = identity.parse_tag(tag)
        read = identity.read_letters(name.letters)
        places = {
            "first": "variable",
            "first-modifier": "modifier of the variable",
            "readout": "reading",
            "output": "output",
            "function-modifier": "modifier of the function",
        }
        return Answers(
            facts=[
                ("Prefix", name.prefix or "none"),
                ("Letters", name.letters),
                ("Number", name.number),
                ("Suffix", name.suffix or "none"),
            ],
            tables=[
                Table(
                    "Letter by letter",
                    ("Letter", "Stands for", "As"),
                    [(letter, meaning, places[position]) for letter, position, meaning in read.meanings],
                )
            ],
        )
