"""What an address of a sheet may ask for."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from register.sheets.sheet import PAPERS


class SheetForm(forms.Form):
    on = forms.DateField(required=False, error_messages={"invalid": _("Give the day as a date, such as 2026-03-01.")})
    paper = forms.ChoiceField(
        required=False,
        choices=[(name, name) for name in PAPERS],
        error_messages={"invalid_choice": f"Choose a paper: {', '.join(PAPERS)}."},
    )
