"""The data sheet of a model as names and values, in groups; what is not recorded is left out."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from django.db.models import Field, Model

from register.calc.signals import SIGNALS
from register.calc.units import label
from register.models import CatalogueModel, ModelPort
from register.plant import values

GROUPS = (
    (
        "Size and supply",
        "front_width_mm front_height_mm depth_mm display_digits supply_kind supply_low_v supply_high_v power_w "
        "ambient_max_c",
    ),
    (
        "Measuring",
        "wires range_limits minimum_span accuracy tolerance_class construction element_count square_root",
    ),
    ("Control", "heat_cool proportional_as time_unit pid_form one_per_controller"),
    ("Final element", "on_rising_signal fail_position"),
    ("Separation", "series_resistance_ohm isolates"),
    ("Reliability and buying", "order_code failure_rate_per_year failure_rate_weight_years price lead_time_days"),
    (
        "Hazardous area, by the certificate",
        "certificate protection gas_group temperature_class simple_apparatus ui_v ii_ma pi_mw ci_nf li_mh uo_v io_ma "
        "po_mw co_nf lo_mh",
    ),
)

RATINGS = (
    "resistance_ohm max_load_ohm supplies_loop isolated supply_v supply_resistance_ohm supply_max_ma min_terminal_v "
    "max_terminal_v failure_low_ma failure_high_ma contact_v contact_a contact_inductive_a leakage_ma drive_v drive_ma "
    "load_kind load_v_min load_v_max load_a unit_load digital_on_current"
)


Fact = tuple[str, str]
"""A name and a value, "" where it is not recorded."""


def grouped_facts(row: CatalogueModel, model: values.Model, currency: str) -> Iterator[tuple[str, list[Fact]]]:
    """Heading and facts of every group of which something is recorded."""
    span_unit = label(model.range_limits.unit) if model.range_limits else ""
    said = {
        "range_limits": ("Range limits", str(model.range_limits or "")),
        "minimum_span": ("Least span", _with(row.minimum_span, span_unit)),
        "accuracy": ("Accuracy", _accuracy(row, span_unit)),
        "pid_form": ("PID form", row.pid_form),
        "price": ("Price", _with(row.price, currency)),
        "lead_time_days": ("Lead time", _with(row.lead_time_days, "days")),
    }
    for heading, names in GROUPS:
        facts = [said[name] if name in said else _named(row, name) for name in names.split()]
        if recorded := [(name, fact) for name, fact in facts if fact]:
            yield heading, recorded


def ratings(port: values.ModelPort) -> list[str]:
    """The electrical facts of a port, each as "name: value"."""
    facts = (_fact(ModelPort._meta.get_field(name), getattr(port, name)) for name in RATINGS.split())
    return [f"{name}: {fact}" for name, fact in facts if fact]


def signals(port: values.ModelPort) -> list[str]:
    """The signals that a port speaks, each with its limits."""
    return [
        f"{SIGNALS[one.signal].label}{f' ({one.limits})' if one.limits else ''}"
        if one.signal in SIGNALS
        else one.signal
        for one in port.signals
    ]


def _named(row: Model, name: str) -> Fact:
    return _fact(row._meta.get_field(name), getattr(row, name))


def _fact(field: Field, value: object) -> Fact:
    name = field.verbose_name[:1].upper() + field.verbose_name[1:]
    if value is None or value == "" or (value is False and not field.null):
        return name, ""
    if isinstance(value, bool):
        return name, "yes" if value else "no"
    return name, f"{value:f}" if isinstance(value, Decimal) else str(value)


def _with(value: Decimal | int | None, unit: str) -> str:
    return "" if value is None else f"{value} {unit}".strip()


def _accuracy(row: CatalogueModel, unit: str) -> str:
    basis = unit if row.accuracy_basis == "in the unit" else row.accuracy_basis
    return "" if row.accuracy is None else f"± {row.accuracy:f} {basis}".strip()
