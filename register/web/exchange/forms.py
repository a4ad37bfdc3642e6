from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class WorkbookForm(forms.Form):
    workbook = forms.FileField(
        label=_("Workbook"),
        allow_empty_file=True,  # the reader says what is wrong with an empty file, as with every other
        help_text=_("An .xlsx file in the form of the blank workbook."),
        widget=forms.ClearableFileInput(
            attrs={"accept": ".xlsx,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}
        ),
    )


class UndoForm(forms.Form):
    reason = forms.CharField(
        max_length=300,
        help_text=_("Why you undo it. It stands in the history of every loop that changes."),
    )
