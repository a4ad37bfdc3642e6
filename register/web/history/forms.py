from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class DayForm(forms.Form):
    day = forms.DateField(label=_("As it stood at the end of"), widget=forms.DateInput(attrs={"type": "date"}))


class CompareForm(forms.Form):
    old = forms.IntegerField(label=_("Compare revision"), min_value=1)
    new = forms.IntegerField(label=_("with revision"), min_value=1)
