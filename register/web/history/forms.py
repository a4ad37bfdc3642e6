from __future__ import annotations

from django import forms


class DayForm(forms.Form):
    day = forms.DateField(label="As it stood at the end of", widget=forms.DateInput(attrs={"type": "date"}))


class CompareForm(forms.Form):
    old = forms.IntegerField(label="Compare revision", min_value=1)
    new = forms.IntegerField(label="with revision", min_value=1)
