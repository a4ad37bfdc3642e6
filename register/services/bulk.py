"""Rows into a table past the ORM: by COPY on PostgreSQL, by one prepared statement on SQLite."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from operator import attrgetter
from typing import Any

from django.core.management.color import no_style
from django.db import connection, models

FEW = 200
"""New rows up to which the ORM writes them as quickly: it needs no statement more for their keys."""
AS_IT_IS = (models.CharField, models.TextField, models.IntegerField, models.BooleanField, models.ForeignKey)
"""Columns of which the drivers take a value as it is."""


def add(rows: Sequence[models.Model]) -> None:
    """Write new rows of one table. Part of the caller's transaction."""
    if not rows:
        return
    table = type(rows[0])
    if len(rows) <= FEW:
        table._default_manager.bulk_create(rows)
        return
    columns = table._meta.concrete_fields
    getters = [getter(column) for column in columns]
    for row, key in zip(rows, reserve(table, len(rows)), strict=True):
        row.pk = key
    insert(table, columns, ([get(row) for get in getters] for row in rows))


def getter(column: models.Field) -> Callable[[models.Model], Any]:
    """What the database's driver is given for a column of a row."""
    if isinstance(column, AS_IT_IS) or column.primary_key:
        return attrgetter(column.attname)
    known: dict[Any, Any] = {}

    def get(row: models.Model) -> Any:
        value = getattr(row, column.attname)
        if not isinstance(value, datetime):  # most rows that are written together bear one moment
            return column.get_db_prep_save(value, connection)
        if value not in known:
            known.clear()
            known[value] = column.get_db_prep_save(value, connection)
        return known[value]

    return get


def prepared(row: models.Model, columns: Sequence[models.Field]) -> tuple[Any, ...]:
    """What the database's driver is given for each column of a row."""
    return tuple(column.get_db_prep_save(getattr(row, column.attname), connection) for column in columns)


def insert(table: type[models.Model], columns: Sequence[models.Field], rows: Iterable[Sequence[Any]]) -> None:
    """Write rows of prepared values. Part of the caller's transaction."""
    quoted = connection.ops.quote_name
    into = f"{quoted(table._meta.db_table)} ({', '.join(quoted(column.column) for column in columns)})"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {into} FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
        else:
            # The driver's own cursor: Django's would look at each statement for marks of its own.
            marks = ", ".join("?" * len(columns))
            cursor.connection.cursor().executemany(f"INSERT INTO {into} VALUES ({marks})", rows)


def reserve(table: type[models.Model], count: int) -> list[int]:
    """Keys that no row of a table has had or will be given otherwise. Part of the caller's transaction."""
    name, key = table._meta.db_table, table._meta.pk.column
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, %s)) FROM generate_series(1, %s)", (name, key, count)
            )
            return [row[0] for row in cursor.fetchall()]
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", (name,))
        last = (cursor.fetchone() or (0,))[0]
    return list(range(last + 1, last + 1 + count))


def number_on(tables: Iterable[type[models.Model]]) -> None:
    """Let keys follow the greatest that was written, after rows were inserted with keys of their own."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(tables)):
            cursor.execute(statement)


def analyze() -> None:
    """Let the database count anew what its plans rest on."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
