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


class Filling:
    """Fills rows of a table in all of these columns: as stated, else as the register has it, else as it follows."""

    def __init__(self, table: type[models.Model], paths: tuple[str, ...]):
        self.paths = paths
        self._key = importing.TABLES[table].key
        _pks, self._standing = importing.standing(importing.TABLES[table], paths)
        columns = {path: SHEET_OF[table].by_path.get(path) for path in paths}
        self._empty = {
            path: empty_fact(column, column.field_of(table)) if column else "" for path, column in columns.items()
        }

    def fill(self, one: Stated) -> importing.Row:
        held = self._standing.get(tuple(one.stated[path] for path in self._key), {})
        facts = {}
        for path in self.paths:
            fact = one.stated[path] if path in one.stated else held.get(path)
            fact = fact if says(fact) else one.inferred.get(path)
            fact = fact if says(fact) else self._empty[path]
            facts[path] = fact.value if isinstance(fact, StrEnum) else fact  # as the register will give it back
        return importing.Row(one.row, facts)


def rows_of(table: type[models.Model], made: Iterable[Stated]) -> importing.Sheet:
    """The rows with the same columns, each filled."""
    made = list(made)
    filling = Filling(table, tuple(dict.fromkeys(path for one in made for path in (*one.stated, *one.inferred))))
    return importing.Sheet(filling.paths, [filling.fill(one) for one in made])
