"""What a write changed, row by row, so that it can be shown later and set back while it still stands."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Field, Model

Raw = str | int | bool | None
"""A column's value as JSON holds it."""


def raw_value(row: Model, column: str) -> Raw:
    value = getattr(row, row._meta.get_field(column).attname)
    if isinstance(value, Decimal):
        return format(value, "f")
    return value.isoformat() if isinstance(value, date) else value


def value_of(model: type[Model], column: str, raw: Raw) -> Any:
    """What a column held, for its attribute of a row: of a relation the other's primary key."""
    field: Field = model._meta.get_field(column)
    return (field.target_field if field.is_relation else field).to_python(raw)


def changed_since(model: type[Model], column: str, written: dict[int, Raw]) -> list[Model]:
    """Rows that no longer hold what was written there, or are gone; locked in the caller's transaction."""
    rows = model._default_manager.select_for_update(of=("self",)).filter(pk__in=written).order_by("pk")
    return [row for row in rows if raw_value(row, column) != written[row.pk]]


def write_column(model: type[Model], column: str, values: dict[int, Raw]) -> None:
    """Set a column of many rows, each to its own value. Part of the caller's transaction."""
    attribute = model._meta.get_field(column).attname
    rows = [model(pk=pk, **{attribute: value_of(model, column, raw)}) for pk, raw in values.items()]
    model._default_manager.bulk_update(rows, [column], batch_size=500)
