from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import Area, RuleSetting
from register.models.fields import NumberInput
from register.plant.words import Severity
from register.rules.engine import Rule, all_rules
from register.web.loops.filters import choices


class RuleFilterForm(forms.Form):
    theme = forms.ChoiceField(required=False)
    severity = forms.ChoiceField(required=False, choices=[("", "Any severity"), *choices(Severity)])
    hits = forms.ChoiceField(
        required=False, choices=[("", "With or without"), ("yes", "with an open finding"), ("no", "without one")]
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        themes = dict.fromkeys(rule.theme for rule in all_rules().values())
        self.fields["theme"].choices = [("", "All themes"), *((theme, theme) for theme in themes)]
        self.fields["hits"].label = "Findings"


class RuleSettingForm(forms.Form):
    """How the plant sets one rule, for one area or for all."""

    area = forms.ModelChoiceField(
        Area.objects.all(),
        required=False,
        empty_label=_("The whole plant"),
        help_text=_("It holds in the area and below it. The setting of the nearest area wins."),
    )
    tolerance = NumberInput(required=False)
    off = forms.BooleanField(label=_("Switch the rule off"), required=False)
    reason = forms.CharField(
        max_length=300, help_text=_("Why the plant departs from the rule as written. It is shown with the rule.")
    )

    def __init__(self, *args, rule: Rule, **kwargs):
        super().__init__(*args, **kwargs)
        if rule.tolerance is None:
            del self.fields["tolerance"]
        else:
            self.fields["tolerance"].unit = rule.tolerance.unit
            self.fields["tolerance"].help_text = f"The rule's own: {rule.tolerance.value:f} {rule.tolerance.unit}."

    def clean_tolerance(self):
        tolerance = self.cleaned_data["tolerance"]
        if tolerance is not None and tolerance < 0:
            raise forms.ValidationError(_("A tolerance cannot be negative. Give 0 or more."))
        return tolerance

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not cleaned["off"] and cleaned.get("tolerance") is None:
            ask = "Give a tolerance, or switch" if "tolerance" in self.fields else "Switch"
            raise forms.ValidationError(_("%(ask)s the rule off; otherwise there is nothing to set.") % {"ask": ask})
        return cleaned

    @classmethod
    def of(cls, setting: RuleSetting) -> dict:
        """What a standing setting says, to begin with."""
        return {name: getattr(setting, name) for name in ("area", "tolerance", "off", "reason")}
