"""Column types that keep what people typed."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from enum import StrEnum

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.db import models
from django.utils.translation import gettext_lazy

from register.calc.errors import NotANumber
from register.calc.ranges import parse_number


class NumberInput(forms.CharField):
    """A form field for a number as people write it, a decimal comma included; cleans to Decimal or None."""

    def __init__(self, **kwargs):
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal"}))
        super().__init__(**{"empty_value": None, **kwargs})

    def to_python(self, value) -> Decimal | None:
        typed = super().to_python(value)
        if typed is None or isinstance(typed, Decimal):
            return typed
        try:
            return parse_number(typed)
        except NotANumber as fault:
            raise ValidationError(f"{fault} Write it as 12.5.") from None

    def has_changed(self, initial, data) -> bool:
        try:
            return self.to_python(initial if initial is None else str(initial)) != self.to_python(data)
        except ValidationError:
            return True


GREATEST_EXPONENT = 30
"""Kept digit by digit, 1e999999 would take a megabyte: nothing of a plant is above 10³⁰ or finer than 10⁻³⁰."""


class QuantityField(models.Field):
    """A Decimal kept digit by digit: 10.50 stays 10.50 on both databases.

    Django's own DecimalField pads to a fixed scale on PostgreSQL and stores a float on SQLite. This one is an
    unconstrained ``numeric`` there and ``text`` here; cast it before comparing in SQL.
    """

    description = "A number as typed"

    def db_type(self, connection) -> str:
        return "numeric" if connection.vendor == "postgresql" else "text"

    def from_db_value(self, value, expression, connection) -> Decimal | None:
        return value if value is None or isinstance(value, Decimal) else Decimal(value)

    def to_python(self, value) -> Decimal | None:
        if value is None or value == "":
            return None
        try:
            number = Decimal(str(value).strip())
        except InvalidOperation:
            raise ValidationError("“%(value)s” is not a number.", params={"value": value}) from None
        if not number.is_finite():
            raise ValidationError("“%(value)s” is not a finite number.", params={"value": value})
        if max(abs(number.as_tuple().exponent), abs(number.adjusted())) > GREATEST_EXPONENT:
            raise ValidationError("“%(value)s” is beyond anything that is measured.", params={"value": value})
        return number

    def get_prep_value(self, value) -> Decimal | None:
        return self.to_python(super().get_prep_value(value))

    def get_db_prep_value(self, value, connection, prepared=False):
        number = value if prepared else self.get_prep_value(value)
        if number is None or connection.vendor == "postgresql":
            return number
        return format(number, "f")

    def value_to_string(self, instance) -> str:
        number = self.value_from_object(instance)
        return "" if number is None else format(number, "f")

    def formfield(self, **kwargs):
        return super().formfield(**{"form_class": NumberInput, **kwargs})


def word_field(words: type[StrEnum], *, optional: bool = False, **kwargs) -> models.CharField:
    """A column that holds one word of a closed vocabulary; the word is what people read."""
    if optional:
        kwargs |= {"blank": True, "default": ""}
    return models.CharField(max_length=40, choices=[(word.value, gettext_lazy(word.value)) for word in words], **kwargs)


def name_field(max_length: int = 60, **kwargs) -> models.CharField:
    """A unique name that stands in addresses and on labels."""
    return models.CharField(max_length=max_length, unique=True, validators=[fit_for_an_address], **kwargs)


fit_for_an_address = RegexValidator(
    r"^[^\s/?#%\\](?:[^/?#%\\\x00-\x1f]*[^\s/?#%\\])?$",
    "Leave out / \\ ? # % and blanks at the ends: the name stands in addresses and on labels.",
)


def number(verbose_name: str | None = None, **kwargs) -> QuantityField:
    """An optional quantity."""
    return QuantityField(verbose_name, null=True, blank=True, **kwargs)


def text(max_length: int = 120, **kwargs) -> models.CharField:
    """An optional line of text."""
    return models.CharField(max_length=max_length, blank=True, default="", **kwargs)


def span_not_empty(prefix: str, name: str) -> models.CheckConstraint:
    """The columns ``<prefix>_low`` and ``<prefix>_high`` are both empty, or low is below high."""
    low, high = f"{prefix}_low", f"{prefix}_high"
    as_number = models.FloatField()
    return models.CheckConstraint(
        name=name,
        condition=models.Q(**{f"{low}__isnull": True, f"{high}__isnull": True})
        | models.Q(
            models.lookups.LessThan(models.functions.Cast(low, as_number), models.functions.Cast(high, as_number))
        ),
        violation_error_message="The low end of a range must be below its high end, and neither may be left out.",
    )
