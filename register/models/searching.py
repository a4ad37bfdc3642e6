"""Search by any part of a name, through an index that each database keeps by itself.

PostgreSQL keeps trigrams of the names (pg_trgm), SQLite a full-text table of trigrams (FTS5) that triggers keep in
step. What is missing of either is made after every migration: SQLite drops the triggers with each table that a
migration makes anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce
from operator import or_

from django.db import connections, models
from django.db.models import Q
from django.db.models.expressions import RawSQL
from django.db.models.functions import Upper

MOST = 1000
"""Up to so many rows that match are known one by one; of more it is known that they are many."""

SHORTEST = 3
"""Characters of a trigram: fewer find only what begins with them."""

Keys = list[int] | models.QuerySet
"""Of few rows the keys themselves, of many the query that finds them."""

SEARCHED = {
    "register_loop": ("number", "service"),
    "register_tag": ("name", "description"),
    "register_asset": ("code", "serial"),
}


def condition(words: str, *columns: str) -> Q:
    """What a row fulfils that has the words in one of its columns; words too short for that begin the first one."""
    if len(words) < SHORTEST:
        return Q(**{f"{columns[0]}__istartswith": words})
    return reduce(or_, (Q(**{f"{column}__icontains": words}) for column in columns))


def keys(model: type[models.Model], words: str, *columns: str) -> Keys:
    """Keys of the rows that fulfil :func:`condition`, through the index."""
    rows = model.objects.order_by().values_list("pk", flat=True)
    if connections[rows.db].vendor != "sqlite":
        rows = rows.filter(condition(words, *columns))
    elif len(words) < SHORTEST:
        begins = {"begins__gte": words.upper(), "begins__lt": words.upper() + chr(0x10FFFF)}
        rows = rows.alias(begins=Upper(columns[0])).filter(**begins)
    else:
        table, phrase = f"{model._meta.db_table}_words", words.replace('"', '""')
        asked = [f'{{{" ".join(columns)}}} : "{phrase}"']
        rows = rows.filter(pk__in=RawSQL(f"SELECT rowid FROM {table} WHERE {table} MATCH %s", asked))
    known = list(rows[: MOST + 1])
    return known if len(known) <= MOST else rows


def matches(model: type[models.Model], words: str, *columns: str, or_by: Iterable[Keys] = ()) -> Q:
    """The condition for a query on ``model``; ``or_by`` are queries for keys of further rows that match.

    Where few rows match, they are asked for by key, so that no database has to choose how to find them.
    """
    found = keys(model, words, *columns)
    known = set(found) if isinstance(found, list) else set()
    many = Q() if isinstance(found, list) else condition(words, *columns)
    for others in or_by:
        if isinstance(others, list):
            known.update(others)
        else:
            many |= Q(pk__in=others)
    return many | Q(pk__in=known) if known or not many else many


def follow(rows: models.QuerySet, found: Keys) -> Keys:
    """A query for keys of other rows by those found, asked at once where they are known."""
    return list(rows) if isinstance(found, list) else rows


def keep_index(connection) -> None:
    """Make what is missing of the index."""
    keep = _keep_trigrams if connection.vendor == "postgresql" else _keep_full_text
    with connection.cursor() as cursor:
        for table, columns in SEARCHED.items():
            keep(cursor, table, columns)


def _keep_trigrams(cursor, table: str, columns: tuple[str, ...]) -> None:
    cursor.execute("CREATE EXTENSION IF NOT EXISTS pg_trgm")
    for column in columns:
        name = f"{table}_{column}_trgm"
        cursor.execute("SELECT to_regclass(%s)", [name])
        if cursor.fetchone()[0] is None:
            # Django's icontains asks for UPPER(column).
            cursor.execute(f"CREATE INDEX {name} ON {table} USING gin (upper({column}) gin_trgm_ops)")


def _keep_full_text(cursor, table: str, columns: tuple[str, ...]) -> None:
    names, words = ", ".join(columns), f"{table}_words"
    old, new = (", ".join(f"{side}.{column}" for column in columns) for side in ("old", "new"))
    forget = f"INSERT INTO {words} ({words}, rowid, {names}) VALUES ('delete', old.id, {old});"
    note = f"INSERT INTO {words} (rowid, {names}) VALUES (new.id, {new});"
    triggers = {
        f"{words}_added": f"AFTER INSERT ON {table} BEGIN {note} END",
        f"{words}_gone": f"AFTER DELETE ON {table} BEGIN {forget} END",
        f"{words}_changed": f"AFTER UPDATE OF {names} ON {table} BEGIN {forget} {note} END",
    }
    cursor.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND name IN (%s, %s, %s)", [*triggers])
    if cursor.fetchone()[0] == len(triggers):
        return
    cursor.execute(f"DROP TABLE IF EXISTS {words}")
    cursor.execute(
        f"CREATE VIRTUAL TABLE {words} USING fts5({names}, content='{table}', content_rowid='id', tokenize='trigram')"
    )
    for name, does in triggers.items():
        cursor.execute(f"DROP TRIGGER IF EXISTS {name}")
        cursor.execute(f"CREATE TRIGGER {name} {does}")
    cursor.execute(f"INSERT INTO {words} ({words}) VALUES ('rebuild')")
