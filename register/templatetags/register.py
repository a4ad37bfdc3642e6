"""Tags and filters of the register's templates: ``{% load register %}``."""

from __future__ import annotations

from collections.abc import Mapping

from django import forms, template
from django.forms import BoundField
from django.utils.safestring import SafeString

from register.plant import keying
from register.services import permissions
from register.web.navigation import Destination, destinations_for
from register.web.parts import marks, rows, words

register = template.Library()

register.simple_tag(marks.severity_mark)
register.filter(marks.severity_counts)
register.simple_tag(rows.body_rows)
register.simple_tag(rows.headings)
register.filter(words.quantity)
register.filter(words.localdate)
register.filter(words.word)
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


@register.simple_tag
def control(field: BoundField) -> SafeString:
    """A form field's input. Numbers are text with a numeric keypad: the browser keeps every digit that was typed."""
    widget, attrs = field.field.widget, {}
    if isinstance(widget, forms.NumberInput):
        widget.input_type = "text"
        attrs["inputmode"] = "numeric" if type(field.field) is forms.IntegerField else "decimal"
        attrs["autocomplete"] = "off"
    elif isinstance(widget, forms.DateInput) and widget.input_type == "date":
        widget.format = "%Y-%m-%d"  # the only form in which a date field takes its value, whatever the language
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
