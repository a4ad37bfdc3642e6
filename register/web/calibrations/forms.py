"""The form of a calibration: what each point should read stands beside the field for what it did read."""

from __future__ import annotations

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from register.calc.calibration import FIVE_POINTS
from register.models import Calibration
from register.models.calibrations import Way
from register.models.fields import NumberInput
from register.plant.check_points import Check
from register.services.calibrating import STATES, Reading, field_of, ways_of
from register.web.changes import ChangeForm

MOST_TYPED = 1000


def percents_of(typed: str) -> tuple[float, ...]:
    """The points that a form carries; five where it carries none or nonsense."""
    try:
        return tuple(float(one) for one in typed[:MOST_TYPED].split()) or FIVE_POINTS
    except ValueError:
        return FIVE_POINTS


class DigitalCertificateForm(forms.Form):
    """A laboratory's certificate, to fill the form in from."""

    digital_certificate = forms.FileField(
        label=_("Digital calibration certificate"),
        allow_empty_file=True,
        help_text=_("The XML file of a laboratory (DCC, version 3). It fills the form in; nothing is saved yet."),
        widget=forms.ClearableFileInput(attrs={"accept": ".xml,application/xml,text/xml"}),
    )


STATE_WORDS = {"as_found": "as found", "as_left": "as left"}


class CalibrationForm(ChangeForm):
    on = forms.DateField(
        label=_("Calibrated on"), initial=timezone.localdate, widget=forms.DateInput(attrs={"type": "date"})
    )
    by_whom = forms.CharField(label=_("By"), max_length=80)
    standard = forms.CharField(max_length=120, help_text=_("What it was compared with, and its number."))
    certificate = forms.CharField(max_length=80, required=False, help_text=_("The number under which this is filed."))
    tolerance_percent = NumberInput(label=_("Tolerance"))
    standard_uncertainty_percent = NumberInput(
        label=_("Uncertainty of the standard"), required=False, help_text=_("Expanded, as its certificate states it.")
    )

    percents = forms.CharField(widget=forms.HiddenInput, required=False)

    ABOUT = ("on", "by_whom", "standard", "certificate", "tolerance_percent", "standard_uncertainty_percent")

    def __init__(self, *args, check: Check, **kwargs):
        self.check = check
        super().__init__(*args, **kwargs)
        for name in ("tolerance_percent", "standard_uncertainty_percent"):
            self.fields[name].unit = "% of span"
        self.fields["percents"].initial = " ".join(f"{percent:g}" for percent in check.percents)
        for state in STATES:
            for way, percent in ways_of(check):
                self.fields[field_of(state, way, percent)] = _reading_field(check, state, way, percent)

    @property
    def about(self) -> list[forms.BoundField]:
        return [self[name] for name in self.ABOUT]

    @property
    def runs(self) -> list[tuple[str, str, list[forms.BoundField]]]:
        """State, heading and fields of each run of points, in the order in which one reads them."""
        return [
            (
                state,
                f"{STATE_WORDS[state].capitalize()}, {way.label}",
                [self[field_of(state, way, percent)] for other, percent in ways_of(self.check) if other == way],
            )
            for state in STATES
            for way in Way
        ]

    @property
    def was_adjusted(self) -> bool:
        """Whether anything stands in the fields as left, or is wrong there."""
        left = [self[field_of("as_left", way, percent)] for way, percent in ways_of(self.check)]
        return any(field.value() or field.errors for field in left)

    @property
    def record(self) -> dict:
        """What was typed, as the service takes it."""
        typed = self.cleaned_data
        points = [
            Reading(percent, way, *(typed[field_of(state, way, percent)] for state in STATES))
            for way, percent in ways_of(self.check)
        ]
        about = {name: typed[name] for name in self.ABOUT}
        return (
            about
            | {"points": points, "percents": self.check.percents, "work_order": typed["work_order"]}
            | self.signature
        )


def _reading_field(check: Check, state: str, way: Way, percent: float) -> NumberInput:
    field = NumberInput(
        label=f"{percent:g} % {way.label}" + (", as left" if state == "as_left" else ""),
        required=False,
        widget=forms.NumberInput(attrs={"autocomplete": "off"}),
        help_text=(
            _("Apply %(_shown)s %(symbol)s, expect %(_shown2)s %(symbol2)s")
            % {
                "_shown": _shown(check.applied.shown(percent)),
                "symbol": check.applied.symbol,
                "_shown2": _shown(check.expected.shown(percent)),
                "symbol2": check.expected.symbol,
            }
        ),
    )
    field.unit = check.expected.symbol
    field.min_value = None if any(check.expected.at(one) < 0 for one in check.percents) else 0
    return field


def _shown(value) -> str:
    return f"{value:f}".replace("-", "−")


def first_filled_in(last: Calibration | None) -> dict:
    """What the next calibration most likely shares with the last."""
    names = ("standard", "tolerance_percent", "standard_uncertainty_percent")
    return {name: getattr(last, name) for name in names} if last else {}
