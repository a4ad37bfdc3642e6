"""Tags and filters of the register's templates: ``{% load register %}``."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal

from django import forms, template
from django.forms import BoundField
from django.template.defaultfilters import date as as_date
from django.utils.formats import number_format
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.timezone import template_localtime

from register.calc import units
from register.plant import keying
from register.services import permissions
from register.web.navigation import Destination, destinations_for
from register.web.parts import marks, rows

register = template.Library()

register.simple_tag(marks.severity_mark)
register.filter(marks.severity_counts)
register.simple_tag(rows.body_rows)
register.filter(keying.keying_order)
register.filter(keying.signal_label)


@register.simple_tag(takes_context=True)
def navigation(context) -> list[tuple[Destination, bool]]:
    """The main pages open to the person who asks, each with whether the page shown belongs to it."""
    request = context["request"]
    return [(one, request.path.startswith(one.url)) for one in destinations_for(request.user)]


@register.filter
def may(user, what: str) -> bool:
    """``{% if user|may:"EDIT_REGISTER" %}``: whether the person's role permits it."""
    return permissions.may(user, permissions.May[what])


@register.filter
def entry(mapping: Mapping, key: object) -> object:
    """What a mapping holds under a key that is only known here; None where it holds nothing."""
    return mapping.get(key) if mapping else None


@register.filter
def quantity(value: Decimal | int | None, unit: str = "") -> str:
    """A number digit for digit as it was typed, with the symbol of its unit (a code; "" for none)."""
    if value is None:
        return ""
    shown = number_format(value, use_l10n=True, force_grouping=False).replace("-", "−")
    return f"{shown}\N{NO-BREAK SPACE}{units.label(unit)}" if unit else shown


@register.filter
def localdate(value: date | datetime | None) -> SafeString | str:
    """A date, or a moment in the reader's time zone, in words of the reader's language."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        local = template_localtime(value)
        return format_html('<time datetime="{}">{}</time>', local.isoformat(), as_date(local, "DATETIME_FORMAT"))
    return format_html('<time datetime="{}">{}</time>', value.isoformat(), as_date(value, "DATE_FORMAT"))


@register.simple_tag
def control(field: BoundField) -> SafeString:
    """A form field's input. Numbers are text with a numeric keypad: the browser keeps every digit that was typed."""
    widget, attrs = field.field.widget, {}
    if isinstance(widget, forms.NumberInput):
        widget.input_type = "text"
        attrs["inputmode"] = "numeric" if type(field.field) is forms.IntegerField else "decimal"
        attrs["autocomplete"] = "off"
    return field.as_widget(attrs=widget.attrs | attrs)


@register.filter
def is_signed(field: BoundField) -> bool:
    """Whether a field takes negative numbers, for which some phones' numeric keypads have no key."""
    lowest = getattr(field.field, "min_value", 0)
    return isinstance(field.field.widget, forms.NumberInput) and (lowest is None or lowest < 0)


@register.filter
def is_group(field: BoundField) -> bool:
    """Whether a field is a set of boxes or buttons, which a legend names instead of a label."""
    return field.use_fieldset


@register.filter
def is_checkbox(field: BoundField) -> bool:
    """Whether a field is a single box, whose label stands beside it."""
    return isinstance(field.field.widget, forms.CheckboxInput)
