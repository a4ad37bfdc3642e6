from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class PartForm(forms.Form):
    """One part of an issue: drafting, checking or approving it."""

    exception = forms.CharField(
        label=_("Why the same person does two parts"),
        required=False,
        max_length=200,
        help_text=_("Only where you have done another part of this issue. It is printed on the sheet."),
    )
