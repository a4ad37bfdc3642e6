from __future__ import annotations

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from register.models import Area, CatalogueModel, PlannedMovement
from register.models.fields import NumberInput
from register.plant.words import Criticality, MovementKind, PlannedKind
from register.web.loops.filters import choices

_DAY = {"widget": forms.DateInput(attrs={"type": "date"})}
_WHAT_IT_DOES = {
    MovementKind.RECEIPT: _("receipt: bought, it comes in"),
    MovementKind.ISSUE: _("issue: it is taken"),
    MovementKind.RETURN: _("return: it comes back"),
    MovementKind.SCRAP: _("scrap: it is thrown away"),
    MovementKind.COUNT: _("count: so many lie there, whatever the register says"),
}


class MovementForm(forms.Form):
    """What moved into or out of a store place, or what was counted there."""

    kind = forms.ChoiceField(label=_("What happened"), choices=list(_WHAT_IT_DOES.items()), widget=forms.RadioSelect)
    store_place = forms.CharField(label=_("Store place"), max_length=60)
    quantity = forms.IntegerField(
        label=_("How many"), min_value=0, help_text=_("Of a count: how many lie there, not the difference.")
    )
    on = forms.DateField(label=_("Day"), initial=timezone.localdate, **_DAY)
    planned = forms.ModelChoiceField(
        PlannedMovement.objects.none(),
        required=False,
        label=_("Order or reservation"),
        help_text=_("Which it fulfils, if any."),
    )
    reason = forms.CharField(label=_("Reason"), max_length=300, help_text=_("It stands with the movement for ever."))
    work_order = forms.CharField(label=_("Work order"), max_length=60, required=False)

    def __init__(self, *args, model: CatalogueModel, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["planned"].queryset = PlannedMovement.objects.open().filter(model=model)
        self.fields["planned"].label_from_instance = lambda one: f"{one.reference}: {one.outstanding}, {one.kind}"

    def clean_kind(self) -> MovementKind:
        return MovementKind(self.cleaned_data["kind"])


class PlannedForm(forms.Form):
    """An order, or a reservation for a job."""

    kind = forms.ChoiceField(label=_("Which"), choices=choices(PlannedKind), widget=forms.RadioSelect)
    reference = forms.CharField(
        label=_("Reference"), max_length=60, help_text=_("The order's number, or the job that it is kept back for.")
    )
    quantity = forms.IntegerField(label=_("How many"), min_value=1)
    made_on = forms.DateField(label=_("Made on"), initial=timezone.localdate, **_DAY)
    expected_on = forms.DateField(
        label=_("Expected on"), help_text=_("The day of arrival, or on which it is needed."), **_DAY
    )


class CloseForm(forms.Form):
    """Nothing more will move."""

    reason = forms.CharField(label=_("Reason"), max_length=300, help_text=_("Why nothing more will move."))


class BudgetForm(forms.Form):
    money = NumberInput(label=_("Sum to spend"), required=False)


class PlacesForm(forms.Form):
    """Which part of the plant, and how critical."""

    area = forms.ModelChoiceField(Area.objects.all(), required=False, label=_("Area"), empty_label=_("All areas"))
    criticality = forms.ChoiceField(
        choices=[("", _("safety, environment and production")), *choices(Criticality)],
        required=False,
        label=_("Criticality"),
    )


class KitForm(forms.Form):
    """The loops of a shutdown or of an area, and for how long the kit must last."""

    area = forms.ModelChoiceField(Area.objects.all(), required=False, label=_("Area"), empty_label=_("none"))
    loops = forms.CharField(
        required=False,
        label=_("Loops"),
        widget=forms.TextInput(attrs={"placeholder": "T-101, L-102", "spellcheck": "false"}),
    )
    days = forms.IntegerField(min_value=1, max_value=3650, initial=365, label=_("To last (days)"))


class ReserveForm(forms.Form):
    """For which job, and by when."""

    reference = forms.CharField(label=_("Job"), max_length=60)
    expected_on = forms.DateField(label=_("Needed on"), **_DAY)
