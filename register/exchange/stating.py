"""Rows that state some facts of a thing and leave the others as the register holds them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from django.db import models

from register.exchange.cells import empty_fact
from register.exchange.reading import SHEET_OF
from register.services import importing


@dataclass
class Stated:
    """A row of a table: the row of the source that made it, what that states and what only follows from it."""

    row: int
    stated: dict[str, Any] = field(default_factory=dict)
    inferred: dict[str, Any] = field(default_factory=dict)


def says(value: Any) -> bool:
    return value is not None and value != ""


def rows_of(table: type[models.Model], made: Iterable[Stated]) -> importing.Sheet:
    """The rows with the same columns, each filled: stated, else as the register has it, else as it follows."""
    made = list(made)
    sheet = SHEET_OF[table]
    paths = tuple(dict.fromkeys(path for one in made for path in (*one.stated, *one.inferred)))
    key = importing.TABLES[table].key
    _pks, standing = importing.standing(importing.TABLES[table], paths)
    rows = []
    for one in made:
        held = standing.get(tuple(one.stated[path] for path in key), {})
        facts = {}
        for path in paths:
            fact = one.stated.get(path, held.get(path))
            if not says(fact):
                fact = one.inferred.get(path)
            if not says(fact):
                column = sheet.by_path.get(path)
                fact = "" if column is None else empty_fact(column, column.field_of(table))
            facts[path] = fact.value if isinstance(fact, StrEnum) else fact  # as the register will give it back
        rows.append(importing.Row(one.row, facts))
    return importing.Sheet(paths, rows)
