from __future__ import annotations

import re

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from register.models import Loop, PackForm
from register.sheets.sheet import PAPERS


class AskForm(forms.Form):
    """What a pack is made of besides the choice of loops."""

    numbers = forms.CharField(
        label=_("Only these loops"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("Their numbers, with spaces, commas or new lines between them."),
    )
    as_on = forms.DateField(
        label=_("As they stood on"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text=_("At its end. Without a day: as they stand now."),
    )
    paper = forms.ChoiceField(choices=[(name, name) for name in PAPERS])
    form = forms.ChoiceField(label=_("File"), choices=[(one.value, one.value) for one in PackForm])

    def clean_numbers(self) -> list[str]:
        numbers = [one for one in dict.fromkeys(re.split(r"[\s,;]+", self.cleaned_data["numbers"])) if one]
        known = set(Loop.objects.filter(number__in=numbers).values_list("number", flat=True))
        if unknown := [one for one in numbers if one not in known]:
            raise ValidationError(
                _("No loop has the number %(join)s. Take it out or correct it.") % {"join": ", ".join(unknown)}
            )
        return numbers

    def clean_as_on(self):
        day = self.cleaned_data["as_on"]
        if day and day > timezone.localdate():
            raise ValidationError(_("This day is still to come. Give today or a day before it, or none."))
        return day
