"""One form a step of a swap. Each asks what only the person at the panel can say; the rest is filled in."""

from __future__ import annotations

from collections.abc import Iterable

from django import forms
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from register.models import Asset, BoardFitting, CatalogueModel, StockLine
from register.plant.words import Condition
from register.services.fits import Candidate
from register.services.replacement import BoardMove
from register.web.changes import ChangeForm
from register.web.tags.forms import CONDITIONS, SettingsForm


class OutForm(forms.Form):
    """What came out."""

    serial_out = forms.CharField(
        label=_("Serial number on what came out"),
        max_length=80,
        help_text=_("Scan or type it from the instrument, not from this page."),
        widget=forms.TextInput(attrs={"autocapitalize": "off", "autocomplete": "off", "spellcheck": "false"}),
    )
    condition = forms.ChoiceField(
        label=_("Its condition, and where it goes"), choices=CONDITIONS, widget=forms.RadioSelect
    )
    reason = forms.CharField(max_length=300, help_text=_("Why you swap it. It stands in the loop's history for ever."))
    on = forms.DateField(label=_("Done on"), initial=timezone.localdate, widget=forms.DateInput(attrs={"type": "date"}))
    work_order = forms.CharField(max_length=60, required=False)
    store_place = forms.CharField(label=_("Where it lies"), max_length=60, required=False)

    def clean_condition(self) -> Condition:
        return Condition(self.cleaned_data["condition"])


OTHER = "other"


class InForm(forms.Form):
    """What goes in: chosen from the store, or by its serial number. Cleans ``asset`` and ``line``."""

    incoming = forms.ChoiceField(
        label=_("What goes in"),
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": _("That one is no longer in the store. Choose another.")},
    )
    serial = forms.CharField(
        label=_("Its serial number"),
        max_length=200,
        required=False,
        help_text=_("Scan or type it where the choice above does not name it."),
        widget=forms.TextInput(attrs={"autocapitalize": "off", "autocomplete": "off", "spellcheck": "false"}),
    )
    model = forms.ModelChoiceField(
        queryset=CatalogueModel.objects.none(),
        required=False,
        label=_("Its model"),
        help_text=_("Only for one that the register does not know yet."),
    )

    def __init__(self, *args, candidates: Iterable[Candidate], kind: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["model"].queryset = CatalogueModel.objects.filter(kind=kind)
        choices = [choice for one in candidates if one.at_hand for choice in _stored(one)]
        self.fields["incoming"].choices = [*choices, (OTHER, "Another: by its serial number")]
        if not choices:
            self.fields["incoming"].initial = OTHER

    def clean(self):
        cleaned = super().clean()
        kind, _, pk = cleaned.get("incoming", "").partition("-")
        serial, model = scanned(cleaned.get("serial", "")), cleaned.get("model")
        asset = line = None
        if kind == "asset":
            asset = Asset.objects.select_related("model").get(pk=pk)
        elif kind == "line":
            line = StockLine.objects.select_related("model").get(pk=pk)
            asset = Asset(model=line.model, serial=serial)
        elif kind == OTHER and not serial:
            self.add_error("serial", _("Type the serial number of what goes in."))
        elif kind == OTHER:
            asset = self._by_serial(serial, model)
        return cleaned | {"asset": asset, "line": line}

    def _by_serial(self, serial: str, model: CatalogueModel | None) -> Asset | None:
        bears = Q(serial__iexact=serial) | Q(code__iexact=serial)
        known = list(Asset.objects.filter(bears, **({"model": model} if model else {})).select_related("model")[:2])
        if len(known) == 1:
            return known[0]
        if known:
            self.add_error(
                "serial",
                _("More than one asset bears %(serial)s. Type its asset code, or choose its model.")
                % {"serial": serial},
            )
        elif model is None:
            self.add_error(
                "model",
                _("No asset bears %(serial)s. Read it again, or choose the model of a new one.") % {"serial": serial},
            )
        else:
            return Asset(model=model, serial=serial)
        return None


def scanned(text: str) -> str:
    """A serial number or code as typed, or the code in an identification link that was scanned."""
    text = text.strip()
    return text.rstrip("/").rpartition("/")[2] if "://" in text else text


def _stored(one: Candidate) -> Iterable[tuple[str, str]]:
    wrong = len(one.outcome.appear)
    judged = f"{wrong} new finding{'s' * (wrong > 1)}" if wrong else "nothing would be wrong"
    if one.asset:
        place = one.asset.store_place or one.asset.state
        yield f"asset-{one.asset.pk}", f"{one.model}, serial {one.asset.serial}, {place}: {judged}"
    for line in one.lines:
        if line.quantity:
            yield f"line-{line.pk}", f"{one.model}, {line.quantity} in {line.store_place}: {judged}"


class BoardsForm(forms.Form):
    """What goes into each bay of the incoming controller. Cleans ``moved_boards``."""

    def __init__(
        self,
        *args,
        incoming: Asset,
        outgoing: list[BoardFitting],
        inside: list[BoardFitting],
        moves: dict[str, str],
        **kwargs,
    ):
        super().__init__(*args, **kwargs)
        self.bays = list(incoming.model.bays.prefetch_related("takes"))
        self.outgoing = {f"move-{one.bay}": one for one in outgoing}
        families = {family.pk for bay in self.bays for family in bay.takes.all()}
        boards = Asset.objects.boards_that_could_go_in().filter(model__family__in=families).order_by("code")
        self.boards = {f"asset-{one.pk}": one for one in boards}
        lines = StockLine.objects.filter(model__family__in=families, quantity__gt=0).select_related("model")
        self.lines = {f"line-{one.pk}": one for one in lines}
        held = {one.bay: one for one in inside}
        placed = {new: f"move-{old}" for old, new in moves.items()}
        for bay in self.bays:
            takes = {family.pk for family in bay.takes.all()}
            empty = f"stays as it is: {held[bay.name].model}" if bay.name in held else "empty"
            self.fields[f"bay-{bay.name}"] = forms.ChoiceField(
                label=_("Bay %(name)s") % {"name": bay.name},
                choices=[("", empty)] if bay.name in held else [("", empty), *self._choices(takes)],
                initial=placed.get(bay.name, ""),
                required=False,
                help_text=", ".join(family.name for family in bay.takes.all()) or "takes no board",
            )

    def _choices(self, takes: set[int]) -> Iterable[tuple[str, str]]:
        for key, one in self.outgoing.items():
            misfit = "" if one.model.family_id in takes else " (does not fit here)"
            serial = f", serial {one.board.serial}" if one.board else ""
            yield key, f"{one.model}{serial}, from bay {one.bay}{misfit}"
        for key, one in self.boards.items():
            if one.model.family_id in takes:
                yield key, f"{one.model}, serial {one.serial}, {one.store_place or one.state}"
        for key, one in self.lines.items():
            if one.model.family_id in takes:
                yield key, f"{one.model}, {one.quantity} in {one.store_place}"

    def clean(self):
        cleaned = super().clean()
        moves = []
        for bay in self.bays:
            if key := cleaned.get(f"bay-{bay.name}"):
                from_bay = self.outgoing[key].bay if key in self.outgoing else ""
                moves.append(
                    BoardMove(bay.name, from_bay=from_bay, board=self.boards.get(key), line=self.lines.get(key))
                )
        return {"moved_boards": tuple(moves)}


class AsLeftForm(SettingsForm):
    """What was keyed into the new instrument: the required settings, as it takes them, unless said otherwise."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ChangeForm.CHANGE_FIELDS:
            del self.fields[name]
