from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

ACCEPTED = ".xlsx,.ods,.csv,.tsv,.txt"
"""Endings of files that can hold a table."""


class WorkbookForm(forms.Form):
    workbook = forms.FileField(
        label=_("File"),
        allow_empty_file=True,  # the reader says what is wrong with an empty file, as with every other
        help_text=_(
            "A workbook in the form of the blank one, or any instrument index: XLSX, ODS, CSV or another text."
        ),
        widget=forms.ClearableFileInput(attrs={"accept": ACCEPTED}),
    )


class UndoForm(forms.Form):
    reason = forms.CharField(
        max_length=300,
        help_text=_("Why you undo it. It stands in the history of every loop that changes."),
    )
