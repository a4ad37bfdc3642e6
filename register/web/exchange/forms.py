from __future__ import annotations

from django import forms


class WorkbookForm(forms.Form):
    workbook = forms.FileField(
        label="Workbook",
        allow_empty_file=True,  # the reader says what is wrong with an empty file, as with every other
        help_text="An .xlsx file in the form of the blank workbook.",
        widget=forms.ClearableFileInput(
            attrs={"accept": ".xlsx,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}
        ),
    )
