"""One cell and the fact that it states, both ways. What may stand in a column follows from the table's own column."""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from register.calc.errors import NotANumber, UnknownSpelling
from register.calc.ranges import parse_number
from register.calc.signals import SIGNALS, parse_signal
from register.calc.units import label, spelling
from register.exchange.sheets import Column, Sheet
from register.models.fields import QuantityField

Cell = str | float | bool | date | datetime


EXACT_BELOW = 10**15
"""A spreadsheet keeps 15 digits of a number."""


class CellProblem(ValueError):
    """The cell cannot be read; the message says what would be right."""


def paths_of(column: Column) -> tuple[str, ...]:
    """The facts that a cell of the column states: a unit's cell also says what the unit refers to."""
    return (column.path, _reference_path(column)) if is_unit(column) else (column.path,)


def is_unit(column: Column) -> bool:
    return column.path in ("range_unit", "limits_unit")


def is_signal(column: Column) -> bool:
    return column.path in ("signal", "input_signal")


def allowed_words(column: Column, sheet: Sheet) -> tuple[str, ...]:
    """The closed list that a cell of the column is taken from, if there is one."""
    kept = column.field_of(sheet.table)
    if column.words:
        return tuple(column.words)
    if isinstance(kept, models.BooleanField):
        return ("yes", "no")
    return tuple(value for value, _ in kept.choices or ())


def _reference_path(column: Column) -> str:
    return column.path.removesuffix("_unit") + "_reference"


# Fact → cell


def to_cell(column: Column, sheet: Sheet, facts: dict[str, Any]) -> Cell | int | None:
    """What stands in the cell; None leaves it empty."""
    fact = facts[column.path]
    kept = column.field_of(sheet.table)
    if fact is None or fact == "" or fact == ():
        return None
    if is_unit(column):
        return label(fact, facts[_reference_path(column)])
    if is_signal(column):
        return SIGNALS[fact].label
    if isinstance(kept, models.BooleanField):
        return "yes" if fact else ("no" if kept.null else None)
    if isinstance(fact, Decimal):
        return format(fact, "f")
    return ", ".join(fact) if isinstance(fact, tuple) else fact


# Cell → fact


def to_facts(column: Column, sheet: Sheet, cell: Cell) -> dict[str, Any]:
    """The facts that the cell states, by path. Raises CellProblem."""
    kept = column.field_of(sheet.table)
    if isinstance(cell, str):
        cell = cell.replace("\r\n", "\n").strip()
    if cell == "":
        if sheet.requires(column):
            raise CellProblem("It must be filled in.")
        return dict.fromkeys(paths_of(column), empty_fact(column, kept))
    if is_unit(column):
        return dict(zip(paths_of(column), _unit(cell), strict=True))
    fact = _fact(column, sheet, kept, cell)
    if not isinstance(fact, tuple):
        try:
            kept.run_validators(kept.to_python(fact))
        except ValidationError as error:
            raise CellProblem(" ".join(error.messages)) from None
    return {column.path: fact}


def empty_fact(column: Column, kept: models.Field) -> Any:
    """What is recorded where a cell is empty."""
    if kept.many_to_many:
        return ()
    if isinstance(kept, models.BooleanField):
        return None if kept.null else False
    if kept.has_default() and not kept.null and "__" not in column.path:
        return kept.get_default()
    is_text = isinstance(kept, models.CharField | models.TextField)
    return "" if is_text and "__" not in column.path else None


def _fact(column: Column, sheet: Sheet, kept: models.Field, cell: Cell) -> Any:
    if kept.many_to_many:
        return tuple(sorted(set(_listed(cell))))
    if is_signal(column):
        return _signal(cell)
    if column.words:
        words = allowed_words(column, sheet)
        return ", ".join(_word(part, words) for part in _listed(cell))
    if isinstance(kept, models.BooleanField):
        return cell if isinstance(cell, bool) else _word(cell, ("yes", "no")) == "yes"
    if kept.choices:
        return _word(cell, allowed_words(column, sheet))
    if isinstance(kept, QuantityField):
        return _number(cell)
    if isinstance(kept, models.IntegerField):
        return _whole(cell)
    if isinstance(kept, models.DateField):
        return _date(cell)
    return _text(cell)


def _text(cell: Cell) -> str:
    if isinstance(cell, bool) or not isinstance(cell, str | float):
        raise CellProblem("It was taken for a date, a time or yes/no. Format the cell as text and type it again.")
    if isinstance(cell, str):
        if re.search(r"[\x00-\x08\x0b-\x1f\x7f]", cell):
            raise CellProblem("It holds a control character. Type it again.")
        return cell
    if abs(cell) >= EXACT_BELOW:
        raise CellProblem("A spreadsheet keeps 15 digits of a number. Format the cell as text and type it again.")
    return format(_as_typed(cell), "f")


def _as_typed(cell: float) -> Decimal:
    """The shortest decimal that stands for the float, which is what was typed."""
    return Decimal(int(cell)) if cell.is_integer() and abs(cell) < EXACT_BELOW else Decimal(repr(cell))


def _number(cell: Cell) -> Decimal:
    if isinstance(cell, bool) or not isinstance(cell, str | float):
        raise CellProblem("A number is needed here. Format the cell as text and type it again.")
    if isinstance(cell, float):
        number = _as_typed(cell)
    else:
        if re.fullmatch(r"[-+−]?\d{1,3},\d{3}", cell):
            raise CellProblem("The comma can part thousands or decimals. Write it without a comma.")
        try:
            number = parse_number(cell)
        except NotANumber:
            raise CellProblem("A number is needed here, such as 10.5, without its unit.") from None
    return number


def _whole(cell: Cell) -> int:
    number = _number(cell)
    if number.adjusted() > 18 or number != number.to_integral_value():
        raise CellProblem("A whole number is needed here.")
    return int(number)


def _date(cell: Cell) -> date:
    if isinstance(cell, datetime):
        return cell.date()
    if isinstance(cell, date):
        return cell
    try:
        return date.fromisoformat(cell)
    except (TypeError, ValueError):
        raise CellProblem("A date is needed here: format the cell as a date, or write it as 2026-03-31.") from None


def _word(cell: Cell, words: tuple[str, ...]) -> str:
    asked = " ".join(cell.split()).casefold() if isinstance(cell, str) else cell
    for word in words:
        if word.casefold() == asked:
            return word
    raise CellProblem(f"It must be one of: {', '.join(words)}.")


def _listed(cell: Cell) -> list[str]:
    return [part for part in (part.strip() for part in _text(cell).split(",")) if part]


def _signal(cell: Cell) -> str:
    try:
        return parse_signal(_text(cell))
    except UnknownSpelling as error:
        raise CellProblem(f"{error} The sheet Words lists them.") from None


def _unit(cell: Cell) -> tuple[str, str]:
    try:
        parsed = spelling(_text(cell))
    except UnknownSpelling as error:
        raise CellProblem(f"{error} The sheet Words lists them.") from None
    return parsed.code, parsed.reference
