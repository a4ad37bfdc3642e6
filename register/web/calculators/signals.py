"""Ranges, signals, units, and how errors add up."""

from __future__ import annotations

from decimal import Decimal

from django import forms
from django.utils.translation import gettext_lazy as _

from register.calc import accuracy, units
from register.calc.errors import NotANumber
from register.calc.ranges import parse_number
from register.calc.signals import SIGNALS, End, Signal, electrical_at, fraction_of, ne43_state, scale, shown_by
from register.web.calculators.base import Answers, Calculator, Number, Table, Verdict, fixed, significant

SPANS = [one for one in SIGNALS.values() if one.is_span]
SPAN_CHOICES = [(one.key, one.label) for one in SPANS]
USUAL = ("4-20mA", "0-20mA", "1-5V", "0-10V", "3-15psi", "0.2-1bar")


def on_the_wire(of: Signal, fraction: float, **scaling: bool) -> str:
    return fixed(electrical_at(fraction, of, **scaling), 3, units.unit(of.unit).symbol)


class SignalCalculator(Calculator):
    slug = "signal"
    title = _("Range and signal")
    purpose = "What a value is on its signal, in per cent, and the other way round; with the five points of a check."
    source = "IEC 60381-1 and -2, IEC 60382, NAMUR NE 43; square root of differential pressure, ISO 5167"
    below = ("reversed", "square_root")

    value = Number("50", label=_("Known value"), signed=True)
    known = forms.ChoiceField(
        initial="value",
        label=_("What it is"),
        choices=[("value", "a value of the range"), ("signal", "the signal"), ("percent", "% of range")],
    )
    low = Number("0", label=_("Range from"), signed=True)
    high = Number("200", label=_("Range to"), signed=True)
    signal = forms.ChoiceField(initial="4-20mA", choices=SPAN_CHOICES)
    reversed = forms.BooleanField(required=False, label=_("Reversed: the highest signal at the low end"))
    square_root = forms.BooleanField(required=False, label=_("The sender extracts the root of a differential pressure"))

    def calculate(self, value, known, low, high, signal, reversed, square_root) -> Answers:
        of, scaling = SIGNALS[signal], {"reversed_": reversed, "square_root": square_root}
        fraction = {
            "value": lambda: scale(value, (low, high), (0, 1)),
            "percent": lambda: value / 100,
            "signal": lambda: _fraction_sent(value, of, **scaling),
        }[known]()
        span = high - low
        answers = Answers(
            facts=[
                ("Value", significant(scale(fraction, (0, 1), (low, high)), 6)),
                ("Of range", fixed(fraction * 100, 3, "%")),
                (of.label, on_the_wire(of, fraction, **scaling)),
            ]
        )
        if not -1e-9 <= fraction <= 1 + 1e-9:
            answers.verdicts.append(Verdict("warning", "Outside the range."))
        if signal == "4-20mA":
            answers.facts.append(("NE 43 calls this", ne43_state(electrical_at(fraction, of, **scaling))))
        answers.tables = [
            Table(
                "Five points of a check",
                ("Of range", "Value", of.label),
                [
                    (
                        f"{percent}\N{NO-BREAK SPACE}%",
                        significant(low + span * percent / 100, 6),
                        on_the_wire(of, percent / 100, **scaling),
                    )
                    for percent in (0, 25, 50, 75, 100)
                ],
            ),
            Table(
                "The same on other signals",
                ("Signal", "Reads"),
                [
                    (SIGNALS[key].label, on_the_wire(SIGNALS[key], fraction, **scaling))
                    for key in USUAL
                    if key != signal
                ],
            ),
        ]
        return answers


def _fraction_sent(value: float, of: Signal, *, reversed_: bool, square_root: bool) -> float:
    """The fraction of range at which a sender puts a value on its signal."""
    fraction = fraction_of(value, of, reversed_=reversed_)
    return fraction**2 if square_root else fraction


class EndsCalculator(Calculator):
    slug = "two-ends"
    title = _("Two ends that differ")
    purpose = "What a reader shows when its range, live zero, direction or root is not the sender's."
    source = "IEC 60381-1 and -2; the arithmetic of scaling"
    groups = (
        ("Process", ("true",)),
        ("Sender", ("sender", "sender_low", "sender_high", "sender_reversed")),
        ("Reader", ("reader", "reader_low", "reader_high", "reader_reversed")),
    )

    true = Number("200", label=_("True value"), signed=True)
    sender = forms.ChoiceField(initial="4-20mA", choices=SPAN_CHOICES, label=_("Signal"))
    sender_low = Number("0", label=_("Range from"), signed=True)
    sender_high = Number("400", label=_("Range to"), signed=True)
    sender_reversed = forms.BooleanField(required=False, label=_("Reversed"))
    reader = forms.ChoiceField(initial="4-20mA", choices=SPAN_CHOICES, label=_("Signal"))
    reader_low = Number("0", label=_("Range from"), signed=True)
    reader_high = Number("500", label=_("Range to"), signed=True)
    reader_reversed = forms.BooleanField(required=False, label=_("Reversed"))

    def calculate(self, true, **ends) -> Answers:
        sender, reader = (
            End(SIGNALS[ends[end]], ends[f"{end}_low"], ends[f"{end}_high"], ends[f"{end}_reversed"])
            for end in ("sender", "reader")
        )
        shown = shown_by(reader, true, sender)
        fraction = scale(true, (sender.low, sender.high), (0, 1))
        error = (shown - true) * 100 / abs(sender.high - sender.low)
        right = abs(error) <= 0.1
        return Answers(
            facts=[
                ("The reader shows", significant(shown, 6)),
                ("Error", f"{significant(shown - true, 6)}, {fixed(error, 2, '%')} of the sender's span"),
                ("On the wire", on_the_wire(sender.signal, fraction, reversed_=sender.reversed)),
            ],
            verdicts=[
                Verdict(
                    "success",
                    "Right at this value, within 0.1 % of span. Try another: some faults show at one end only.",
                )
                if right
                else Verdict("error", "The two ends do not agree at this value.")
            ],
        )


def unit_choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """Units under their dimension."""
    by_dimension: dict[str, list[tuple[str, str]]] = {}
    for one in units.all_units().values():
        by_dimension.setdefault(one.dimension, []).append(
            (one.code, one.symbol if one.symbol == one.name else f"{one.symbol}, {one.name}")
        )
    return [(dimension, choices) for dimension, choices in by_dimension.items() if len(choices) > 1]


class UnitCalculator(Calculator):
    slug = "units"
    title = _("Units")
    purpose = "A value in every other unit of its kind; gauge and absolute pressure."
    source = "UN/ECE Recommendation 20, SI brochure, NIST SP 811"

    value = Number("1", label=_("Value"), signed=True)
    unit = forms.ChoiceField(initial="BAR", choices=unit_choices)
    difference = forms.BooleanField(required=False, label=_("It is a difference or a span, not a reading"))

    def calculate(self, value, unit, difference) -> Answers:
        of, value = units.unit(unit), Decimal(repr(value))
        change = units.convert_difference if difference else units.convert
        rows = [
            (one.symbol, significant(float(change(value, unit, one.code)), 8), one.name)
            for one in units.all_units().values()
            if one.dimension == of.dimension and one.code != unit
        ]
        answers = Answers(
            tables=[Table(f"{significant(float(value), 8)} {of.symbol} is", ("Unit", "Value", "Name"), rows)]
        )
        if of.dimension == "pressure" and not difference:
            absolute, gauge = units.absolute_of_gauge(value, unit), units.gauge_of_absolute(value, unit)
            answers.facts = [
                ("Absolute, if this is gauge", significant(float(absolute), 8, of.symbol)),
                ("Gauge, if this is absolute", significant(float(gauge), 8, of.symbol)),
            ]
            answers.verdicts = [Verdict("warning", "Both hold at the standard atmosphere of 101.325 kPa only.")]
        return answers


class Errors(forms.CharField):
    """Numbers, parted by blanks or semicolons."""

    def to_python(self, value) -> list[float]:
        try:
            return [float(parse_number(part)) for part in super().to_python(value).replace(";", " ").split()]
        except NotANumber as fault:
            raise forms.ValidationError(
                _("%(fault)s Write numbers with blanks between them, as 0.25 0.5 0.1.") % {"fault": fault}
            ) from None


class AccuracyCalculator(Calculator):
    slug = "accuracy"
    title = _("Accuracy of a chain")
    purpose = "Independent errors by root sum of squares, beside the worst case, with each one's share."
    source = "ISA-RP67.04.02; JCGM 100:2008 (GUM)"

    errors_ = Errors(
        initial="0.55 0.4 0.4",
        label=_("Errors of the parts"),
        help_text=_("All in one unit, at the working value. Per cent of span and of reading may not be mixed."),
    )
    biases = Errors(initial="", required=False, label=_("Known one-sided errors"))
    requirement = Number("1", label=_("Required accuracy"), required=False)

    def calculate(self, errors_, biases, requirement) -> Answers:
        total = accuracy.root_sum_of_squares(errors_, biases)
        answers = Answers(
            facts=[
                ("Root sum of squares", f"±{significant(total, 4)}"),
                ("Worst case", f"±{significant(accuracy.worst_case([*errors_, *biases]), 4)}"),
            ],
            tables=[
                Table(
                    "Share of each part in the sum of squares",
                    ("Error", "Share"),
                    [
                        (f"±{significant(abs(error), 4)}", fixed(share, 1, "%"))
                        for error, share in zip(errors_, accuracy.shares_percent(errors_), strict=True)
                    ],
                )
            ],
        )
        if requirement is not None:
            answers.verdicts.append(
                Verdict("success", "Within what is required.")
                if total <= requirement * (1 + 1e-12)
                else Verdict("error", f"More than the ±{significant(requirement, 4)} that is required.")
            )
        return answers
