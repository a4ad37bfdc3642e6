from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import CatalogueModel
from register.plant.words import ModelKind
from register.services.many import Many
from register.web.changes import ChangeForm


def label_of(kind: Many, column: str) -> str:
    name = str(kind.model._meta.get_field(column).verbose_name)
    return f"{name[:1].upper()}{name[1:]}"


class ColumnForm(forms.Form):
    """Which field of the rows is to be set."""

    change = forms.ChoiceField(label=_("What to change"))

    def __init__(self, kind: Many, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["change"].choices = [(column, label_of(kind, column)) for column in kind.columns]


class BulkForm(ChangeForm, forms.ModelForm):
    """The value of one field, for every row that the person saw."""

    seen_revision = forms.CharField(widget=forms.HiddenInput)


def bulk_form(kind: Many, column: str) -> type[BulkForm]:
    """The form for one column of a kind of row."""
    form = forms.modelform_factory(kind.model, form=BulkForm, fields=[column])
    field = form.base_fields[column]
    if column in kind.appended:
        field.required, field.widget = True, forms.Textarea(attrs={"rows": 2})
        field.help_text = _("It is added below what stands there.")
    elif not field.required:
        field.help_text = _("Empty: the rows no longer hold any.")
    if column == "specified":
        field.queryset = CatalogueModel.objects.exclude(kind=ModelKind.OPTION_BOARD)
    return form


class UndoForm(ChangeForm):
    """What was set is set back only while it still stands, so there is no revision to be behind of."""

    seen_revision = None
    work_order = None
