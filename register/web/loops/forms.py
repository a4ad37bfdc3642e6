from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import Loop
from register.web.changes import ChangeForm

_IDENTITY = ("number", "service", "area", "kind", "criticality", "remarks")
_PROCESS = (
    "on_opening", "danger", "normal_value", "safe_low", "safe_high", "required_accuracy", "dead_time_s",
)  # fmt: skip
_SAFETY = (
    "target_sil", "sensor_pfd", "logic_pfd", "final_element_failures_per_hour", "proof_test_interval_months",
    "last_proof_test", "shared_sensor_justified",
)  # fmt: skip


class LoopForm(ChangeForm, forms.ModelForm):
    groups = (("Identity", _IDENTITY), ("Process", _PROCESS), ("Safety function", _SAFETY))

    class Meta:
        model = Loop
        fields = (*_IDENTITY, *_PROCESS, *_SAFETY)
        widgets = {
            "last_proof_test": forms.DateInput(attrs={"type": "date"}),
            "remarks": forms.Textarea(attrs={"rows": 3}),
        }
        help_texts = {
            "number": _("As on the drawings, e.g. T-101."),
            "service": _("What the loop is for, in the words people use."),
            "danger": _("The side on which the measured value becomes dangerous."),
            "required_accuracy": _("In the unit of the loop's range."),
        }


class NewLoopForm(LoopForm):
    """A loop that does not exist yet has no revision to be behind of."""

    seen_revision = None
    work_order = None

    @property
    def signature(self) -> dict:
        return {"reason": self.cleaned_data["reason"]}
