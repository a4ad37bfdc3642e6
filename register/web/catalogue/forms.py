from __future__ import annotations

from django import forms

from register.calc.units import REFERENCES
from register.models import CatalogueModel
from register.web.catalogue.facts import GROUPS
from register.web.changes import ChangeForm
from register.web.tags.forms import unit_choices

LIMITS = ("limits_low", "limits_high", "limits_unit", "limits_reference")


def _columns(names: str) -> tuple[str, ...]:
    """Columns of a group of the data sheet: range limits are four of them, an accuracy has its basis beside it."""
    columns: list[str] = []
    for name in names.split():
        columns += (
            LIMITS if name == "range_limits" else ("accuracy", "accuracy_basis") if name == "accuracy" else (name,)
        )
    return tuple(columns)


IDENTITY = ("maker", "name", "description", "obsolete", "successor")


class CatalogueModelForm(ChangeForm, forms.ModelForm):
    """A correction of a model's data sheet."""

    seen_revision = None
    work_order = None
    groups = (("Identity", IDENTITY), *((heading, _columns(names)) for heading, names in GROUPS))

    class Meta:
        model = CatalogueModel
        fields = (*IDENTITY, *(column for _, names in GROUPS for column in _columns(names)))

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        references = [("", "—"), *((word, word) for word in REFERENCES)]
        self.fields["limits_unit"] = forms.ChoiceField(choices=unit_choices(), required=False, label="Limits in")
        self.fields["limits_reference"] = forms.ChoiceField(choices=references, required=False, label="Reference")
        self.fields["successor"].queryset = CatalogueModel.objects.filter(kind=self.instance.kind).exclude(
            pk=self.instance.pk
        )
