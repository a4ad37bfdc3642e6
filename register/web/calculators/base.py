"""What a calculator is: a form that answers at once, from values that it shows to begin with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from register.calc.errors import CalculationError
from register.models.fields import NumberInput

GREATEST = 1e12
"""Beyond this nothing of a plant is measured, and squares no longer fit a float."""


class Number(NumberInput):
    """A number as people write it, with the unit that stands behind the input; cleans to float."""

    def __init__(self, initial: str = "", unit: str = "", *, signed: bool = False, **kwargs):
        self.unit = unit
        self.min_value = None if signed else 0  # a signed number gets a button for its sign on a phone
        super().__init__(initial=initial or None, widget=forms.NumberInput(), **kwargs)

    def to_python(self, value) -> float | None:
        typed = super().to_python(value)
        if typed is None:
            return None
        if abs(typed) > GREATEST:
            raise ValidationError(_("That is beyond anything that is measured."))
        return float(typed)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a number means: level "success", "warning" or "error"."""

    level: str
    text: str


@dataclass(frozen=True, slots=True)
class Table:
    caption: str
    headings: tuple[str, ...]
    rows: list[tuple[str, ...]]

    @property
    def labelled_rows(self) -> list[list[tuple[str, str]]]:
        """Each cell with the heading above it, which a phone shows beside it."""
        return [list(zip(self.headings, row, strict=True)) for row in self.rows]


@dataclass(slots=True)
class Answers:
    """Facts are names and values, as text in the reader's digits."""

    facts: list[tuple[str, str]] = field(default_factory=list)
    verdicts: list[Verdict] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)


class Calculator(forms.Form):
    """One calculator. ``below`` names the fields that stand below the answers, because they rarely change; ``groups``
    parts the others under headings."""

    slug: ClassVar[str]
    title: ClassVar[str]
    purpose: ClassVar[str]
    source: ClassVar[str]
    caution: ClassVar[str] = ""
    below: ClassVar[tuple[str, ...]] = ()
    groups: ClassVar[tuple[tuple[str, tuple[str, ...]], ...]] = ()
    template_name_of_page: ClassVar[str] = "calculators/calculator.html"
    use_required_attribute = False

    @classmethod
    def asked(cls, query: Mapping[str, str]) -> Calculator:
        """The calculator with what an address holds, and its own example for what it does not."""
        shown = {name: one.initial for name, one in cls.base_fields.items() if one.initial is not None}
        calculator = cls(shown | {name: query[name] for name in cls.base_fields if name in query})
        calculator.missing = calculator._take_missing()
        calculator.answers = calculator._answers()
        return calculator

    def _take_missing(self) -> list[str]:
        """Labels of what is still to be given; that is no error on a page which answers while one types."""
        missing = [name for name, errors in self.errors.as_data().items() if errors[0].code == "required"]
        for name in missing:
            del self.errors[name]
        return [str(self[name].label) for name in missing]

    def _answers(self) -> Answers | None:
        """None where what was typed cannot be calculated with; the form's errors say why."""
        if self.missing or self.errors:
            return None
        try:
            return self.calculate(**self.cleaned_data)
        except CalculationError as refused:
            self.add_error(None, str(refused))
        except ArithmeticError:
            self.add_error(None, _("These numbers together are beyond anything that is measured."))
        return None

    def calculate(self, **given: object) -> Answers:
        raise NotImplementedError

    @property
    def fields_above(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Under their headings; under none where there are no groups."""
        groups = self.groups or (("", [name for name in self.fields if name not in self.below]),)
        return [(heading, [self[name] for name in names]) for heading, names in groups]

    @property
    def fields_below(self) -> list[forms.BoundField]:
        return [self[name] for name in self.below]


def fixed(value: float, places: int, unit: str = "") -> str:
    """A number with so many places, in the reader's digits, with its unit."""
    shown = number_format(round(value, places) + 0.0, decimal_pos=places, use_l10n=True, force_grouping=False)
    return _with_unit(shown, unit)


def significant(value: float, digits: int = 4, unit: str = "") -> str:
    """A number with so many significant digits, never as a power of ten."""
    plain = format(Decimal(f"{value:.{digits}g}"), "f")
    return _with_unit(number_format(plain, use_l10n=True, force_grouping=False), unit)


def _with_unit(shown: str, unit: str) -> str:
    shown = shown.replace("-", "−")
    return f"{shown}\N{NO-BREAK SPACE}{unit}" if unit else shown


def options(*words: str) -> list[tuple[str, str]]:
    """Choices that are called what they are."""
    return [(word, word) for word in words]
