"""One form for each thing at a tag that can be changed. Groups are the order in which a form shows its fields."""

from __future__ import annotations

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from register.calc.signals import SIGNALS
from register.calc.units import REFERENCES, all_units
from register.models import Alarm, Asset, CatalogueModel, Core, Link, Port, Settings, StockLine, Tag
from register.plant.words import Condition, Direction, ModelKind, Purpose
from register.services.fitting import GOES_TO
from register.web.changes import ChangeForm

Groups = tuple[tuple[str, tuple[str, ...]], ...]

_RANGE = ("range_low", "range_high", "range_unit", "range_reference")

TAG: Groups = (
    ("Identity", ("name", "role", "description", "location", "place", "specified")),
    ("At the place", ("cutout_width_mm", "cutout_height_mm", "supply_kind", "supply_v", "fuse", "ambient_c")),
    ("Hazardous area", ("zone", "gas_group", "ignition_c")),
    ("On failure", ("fault_direction", "fail_position", "on_rising_signal", "safe_position")),
    ("Calibration", ("calibration_interval_months",)),
)
SETTINGS: Groups = (
    (
        "Input",
        (
            "input_signal",
            *_RANGE,
            "decimals",
            "input_wires",
            "cold_junction",
            "square_root",
            "low_cutoff_percent",
            "filter_s",
            "sensor_break",
            "fault_below_ma",
            "fault_above_ma",
        ),
    ),
    (
        "Set point",
        (
            "set_point_source",
            "set_point",
            "set_point_low",
            "set_point_high",
            "remote_ratio",
            "remote_bias",
            "working_in_local",
        ),
    ),
    (
        "Control",
        (
            "control",
            "action",
            "proportional",
            "proportional_as",
            "integral",
            "derivative",
            "time_unit",
            "pid_form",
            "output_low_percent",
            "output_high_percent",
            "cycle_time_s",
        ),
    ),
    (
        "Serial line",
        (
            "serial_bus",
            "serial_address",
            "serial_baud",
            "serial_parity",
            "serial_stop_bits",
            "serial_mode",
            "serial_terminated",
        ),
    ),
)
PORT: Groups = (
    ("Port", ("name", "direction", "purpose", "signal", "bay", "terminals")),
    ("Scaling", (*_RANGE, "reversed", "square_root", "split_low_percent", "split_high_percent")),
    ("Supply", ("supplies_loop",)),
)
ALARM: Groups = (
    ("Alarm", ("name", "kind", "set_point", "deadband", "priority", "delay_s", "action")),
    ("Output", ("output", "coil", "trip", "latching", "line_monitored")),
)


def flat(groups: Groups) -> list[str]:
    return [name for _, names in groups for name in names]


def unit_choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """Units under their dimension, the symbol first because people look for it."""
    by_dimension: dict[str, list[tuple[str, str]]] = {}
    for one in sorted(all_units().values(), key=lambda one: one.symbol.casefold()):
        by_dimension.setdefault(one.dimension, []).append((one.code, f"{one.symbol}, {one.name}"))
    return [("", "—"), *sorted(by_dimension.items())]


def signal_choices() -> list[tuple[str, list[tuple[str, str]]]]:
    by_kind: dict[str, list[tuple[str, str]]] = {}
    for one in SIGNALS.values():
        by_kind.setdefault(one.kind, []).append((one.key, one.label))
    return [("", "—"), *by_kind.items()]


def choose_units(form: forms.Form, prefix: str) -> None:
    """Offer the units and references of a range to choose from, where the form has them."""
    references = [("", "—"), *((word, word) for word in REFERENCES)]
    for name, choices in ((f"{prefix}_unit", unit_choices()), (f"{prefix}_reference", references)):
        if name in form.fields:
            form.fields[name] = forms.ChoiceField(choices=choices, required=False, label=form.fields[name].label)


def complete_range(form: forms.Form, cleaned: dict, prefix: str) -> dict:
    """Ask for the unit of a range that has none."""
    if cleaned.get(f"{prefix}_low") is not None and not cleaned.get(f"{prefix}_unit"):
        form.add_error(f"{prefix}_unit", _("Choose the unit of the range."))
    return cleaned


class GroupedForm(ChangeForm, forms.ModelForm):
    """Units and signals are chosen, never spelt."""

    groups: Groups = ()

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        choose_units(self, "range")
        for name in ("signal", "input_signal"):
            if name in self.fields:
                label = self.fields[name].label
                self.fields[name] = forms.ChoiceField(choices=signal_choices(), required=False, label=label)

    def clean(self):
        return complete_range(self, super().clean(), "range")


class TagForm(GroupedForm):
    groups = TAG

    class Meta:
        model = Tag
        fields = flat(TAG)
        help_texts = {
            "name": _("ISA-5.1 letters and the loop's number, e.g. TIC-101."),
            "specified": _("The model that the place calls for; what is fitted there is its asset."),
            "zone": _("0, 1 or 2. Empty: the area's."),
            "fault_direction": _("Which way the reading goes when the sensor or the signal fails."),
            "safe_position": _("Where the process needs the final element to go."),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["specified"].queryset = CatalogueModel.objects.exclude(kind=ModelKind.OPTION_BOARD)


class SettingsForm(GroupedForm):
    """In the order in which a controller is keyed."""

    groups = SETTINGS

    class Meta:
        model = Settings
        fields = flat(SETTINGS)
        labels = {"serial_bus": _("Bus"), "serial_address": _("Address"), "serial_baud": _("Speed (bit/s)")}


class PortForm(GroupedForm):
    groups = PORT

    class Meta:
        model = Port
        fields = flat(PORT)
        help_texts = {
            "bay": _("The bay whose board provides the port. Empty: built in."),
            "reversed": _("The low end of the signal means the high end of the range."),
            "square_root": _("The root is extracted before the signal leaves here."),
        }


class AlarmForm(GroupedForm):
    groups = ALARM

    class Meta:
        model = Alarm
        fields = flat(ALARM)
        help_texts = {"action": _("What a person does when the alarm comes.")}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["output"].queryset = Port.objects.filter(
            tag=self.instance.tag_id, direction=Direction.OUT, purpose=Purpose.ALARM
        )


class LinkForm(ChangeForm, forms.ModelForm):
    class Meta:
        model = Link
        fields = ("source", "target", "shunt_ohm", "note")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        ports = Port.objects.filter(tag__retired_on__isnull=True).select_related("tag").order_by("tag__name", "pk")
        self.fields["source"].queryset = ports.filter(direction=Direction.OUT)
        self.fields["target"].queryset = ports.filter(direction=Direction.IN)


class CoreForm(forms.ModelForm):
    """One conductor of a link; a row without a cable is left out."""

    class Meta:
        model = Core
        fields = ("cable", "core", "colour", "polarity", "from_place", "from_terminal", "to_place", "to_terminal")


CoreFormSet = forms.modelformset_factory(Core, form=CoreForm, extra=2, can_delete=True)


class WorkForm(ChangeForm):
    """Work done on a day, today unless said otherwise."""

    on = forms.DateField(label=_("Done on"), initial=timezone.localdate, widget=forms.DateInput(attrs={"type": "date"}))


CONDITIONS = [(one.value, f"{one.value}: {GOES_TO[one]}") for one in Condition]


class InstallForm(WorkForm):
    asset = forms.ModelChoiceField(queryset=Asset.objects.none(), help_text=_("What lies in store or workshop."))

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["asset"].queryset = Asset.objects.that_could_go_in()
        self.fields["asset"].label_from_instance = lambda one: f"{one.model} · {one.serial} · {one.state}"


class RemoveForm(WorkForm):
    condition = forms.ChoiceField(label=_("Its condition, and where it goes"), choices=CONDITIONS)
    store_place = forms.CharField(max_length=60, required=False)

    def clean_condition(self) -> Condition:
        return Condition(self.cleaned_data["condition"])


class FitBoardForm(WorkForm):
    model = forms.ModelChoiceField(queryset=CatalogueModel.objects.none(), label=_("Board"))
    board = forms.ModelChoiceField(
        queryset=Asset.objects.none(),
        required=False,
        label=_("Its serial number"),
        help_text=_("If the board bears one."),
    )
    line = forms.ModelChoiceField(
        queryset=StockLine.objects.none(),
        required=False,
        label=_("Taken from"),
        help_text=_("The store place, if it bears no serial number: the stock there goes down by one."),
    )

    def __init__(self, *args, takes=(), **kwargs):
        super().__init__(*args, **kwargs)
        boards = CatalogueModel.objects.filter(kind=ModelKind.OPTION_BOARD, family__in=takes)
        self.fields["model"].queryset = boards
        self.fields["board"].queryset = Asset.objects.boards_that_could_go_in().filter(model__in=boards)
        self.fields["board"].label_from_instance = lambda one: f"{one.model} · {one.serial}"
        self.fields["line"].queryset = StockLine.objects.filter(model__in=boards, quantity__gt=0).select_related(
            "model"
        )
        self.fields["line"].label_from_instance = lambda one: f"{one.model} · {one.quantity} in {one.store_place}"
