from __future__ import annotations

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from register.models import Bay, BoardFamily, CatalogueModel, ModelPort, ModelSignal
from register.plant.words import Purpose
from register.web.catalogue.facts import GROUPS
from register.web.changes import ChangeForm
from register.web.loops.filters import choices
from register.web.tags.forms import choose_units, complete_range, flat, signal_choices

LIMITS = ("limits_low", "limits_high", "limits_unit", "limits_reference")
"""Columns of the limits of a range."""


def _columns(names: str) -> tuple[str, ...]:
    """Columns of a group of the data sheet: range limits are four of them, an accuracy has its basis beside it."""
    columns: list[str] = []
    for name in names.split():
        columns += (
            LIMITS if name == "range_limits" else ("accuracy", "accuracy_basis") if name == "accuracy" else (name,)
        )
    return tuple(columns)


IDENTITY = ("maker", "name", "kind", "family", "description", "obsolete", "successor")
HISTORY_HELP = "Why you change it. It stands in the model's history for ever, and in that of every loop that uses it."


class CatalogueForm(ChangeForm):
    """A change of the catalogue, noticed when somebody else made one meanwhile."""

    work_order = None
    reason = forms.CharField(max_length=200, help_text=HISTORY_HELP)


class CatalogueModelForm(CatalogueForm, forms.ModelForm):
    """A correction of a model's data sheet."""

    groups = (("Identity", IDENTITY), *((heading, _columns(names)) for heading, names in GROUPS))

    class Meta:
        model = CatalogueModel
        fields = (*IDENTITY, *(column for _, names in GROUPS for column in _columns(names)))
        labels = {"pid_form": _("PID form"), "lead_time_days": _("Lead time (days)")}
        help_texts = {
            "family": _("Of an option board: which bays take it. Nothing else has one."),
            "obsolete": _("No longer made."),
            "successor": _("What its maker offers in its place."),
            "front_width_mm": _("With the height it gives the cut-out (IEC 61554)."),
            "pid_form": _("The form in which its tuning is keyed."),
            "minimum_span": _("In the unit of the range limits."),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        choose_units(self, "limits")
        others = CatalogueModel.objects.exclude(pk=self.instance.pk)
        self.fields["successor"].queryset = others.filter(kind=self.instance.kind) if self.instance.kind else others

    def clean(self):
        return complete_range(self, super().clean(), "limits")


class NewModelForm(CatalogueModelForm):
    """A model that the catalogue does not know yet has no revision to be behind of."""

    seen_revision = None


PORT_GROUPS = (
    ("Port", ("name", "direction", "terminals")),
    ("What flows through it", ("purposes",)),
    ("Supply of a two-wire circuit", ("supplies_loop", "supply_v", "supply_resistance_ohm", "supply_max_ma")),
    (
        "Signal circuit",
        (
            "isolated",
            "resistance_ohm",
            "max_load_ohm",
            "min_terminal_v",
            "max_terminal_v",
            "failure_low_ma",
            "failure_high_ma",
            "digital_on_current",
        ),
    ),
    (
        "Contact and logic output",
        ("contact_v", "contact_a", "contact_inductive_a", "leakage_ma", "drive_v", "drive_ma"),
    ),
    ("As a load that is switched", ("load_kind", "load_v_min", "load_v_max", "load_a")),
    ("Serial line", ("unit_load",)),
)


class ModelPortForm(CatalogueForm, forms.ModelForm):
    """An input or output of a model; what it does not have stays empty."""

    groups = PORT_GROUPS
    purposes = forms.MultipleChoiceField(choices=choices(Purpose), widget=forms.CheckboxSelectMultiple, required=False)

    class Meta:
        model = ModelPort
        fields = flat(PORT_GROUPS)
        help_texts = {
            "resistance_ohm": _("What an input puts into the circuit."),
            "max_load_ohm": _("What a current output can drive."),
            "failure_low_ma": _("Of a sender: what it sends on a fault. Of a receiver: at or below this it sees one."),
            "min_terminal_v": _("What a loop-powered port needs to work."),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.initial["purposes"] = [word for word in self.instance.purposes.split(",") if word]

    def clean_purposes(self) -> str:
        return ",".join(self.cleaned_data["purposes"])


class ModelSignalForm(forms.ModelForm):
    """A signal that a port speaks; a row without one is left out."""

    class Meta:
        model = ModelSignal
        fields = ("signal", *LIMITS)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["signal"] = forms.ChoiceField(choices=signal_choices(), required=False, label=_("Signal"))
        choose_units(self, "limits")

    def clean(self):
        return complete_range(self, super().clean(), "limits")


ModelSignalFormSet = forms.modelformset_factory(ModelSignal, form=ModelSignalForm, extra=3, can_delete=True)


def signals_of(port: ModelPort) -> QuerySet[ModelSignal]:
    return port.signals.all() if port.pk else ModelSignal.objects.none()


def kept(rows: forms.BaseFormSet) -> list[dict]:
    """What was typed of each signal; rows without one and rows to be removed left out."""
    typed = [row.cleaned_data for row in rows if row.cleaned_data and not row.cleaned_data.get("DELETE")]
    return [{column: one[column] for column in ModelSignalForm.Meta.fields} for one in typed if one.get("signal")]


class BayForm(CatalogueForm, forms.ModelForm):
    class Meta:
        model = Bay
        fields = ("name", "takes")
        widgets = {"takes": forms.CheckboxSelectMultiple}
        labels = {"takes": _("Takes boards of")}


class RemoveForm(CatalogueForm):
    """A port or bay is taken away."""


class FamilyForm(CatalogueForm, forms.ModelForm):
    """A board family belongs to no one model, so there is no revision to be behind of."""

    seen_revision = None

    class Meta:
        model = BoardFamily
        fields = ("name", "description")
