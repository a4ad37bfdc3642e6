"""Rows into a table past the ORM: by COPY on PostgreSQL, by one prepared statement on SQLite."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django.core.management.color import no_style
from django.db import connection, models


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
