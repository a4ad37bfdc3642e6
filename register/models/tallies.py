"""How many loops and tags in service there are of each sort in each area, kept by the database as rows come and go.

Lists say beside each filter how many rows it leaves; counting them anew would take longer the larger the plant.
Triggers keep the counts, so that they hold whoever writes. On PostgreSQL a change adds a line, so that two people who
save at once never wait for each other, and :func:`compact` sums the lines up; on SQLite, where one writes at a time, it
alters the line.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.db import connection, models
from django.db.models import Case, Sum, Value, When

from register.models.loops import NO_FINDING, WORST, Area, Loop, Tag


class TallyQuerySet(models.QuerySet):
    def counted_by(self, *columns: str) -> dict[tuple, int]:
        """How many rows there are of each sort, told apart by some columns."""
        summed = self.order_by().values_list(*columns).annotate(rows=Sum("count"))
        return {tuple(sort): rows for *sort, rows in summed if rows}


class AreaTally(models.Model):
    area = models.ForeignKey(Area, models.DO_NOTHING, db_constraint=False, related_name="+")
    count = models.IntegerField()

    objects = TallyQuerySet.as_manager()

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"{self.count} in {self.area}"


class LoopTally(AreaTally):
    kind = models.CharField(max_length=40)
    criticality = models.CharField(max_length=40)
    worst = models.CharField(max_length=40)


class TagTally(AreaTally):
    role = models.CharField(max_length=40)
    location = models.CharField(max_length=40, blank=True)


def worst_finding() -> Case:
    """The worst open finding of a loop, as :class:`LoopTally` calls it."""
    whens = (When(**{f"{column}__gt": 0}, then=Value(word)) for column, word in WORST.items())
    return Case(*whens, default=Value(NO_FINDING))


@dataclass(frozen=True)
class Kept:
    """A tally and the rows that it counts. ``sort`` says in SQL what a row (``{}``: its alias) is counted as."""

    tally: type[AreaTally]
    rows: type[models.Model]
    columns: tuple[str, ...]
    sort: tuple[str, ...]
    depends_on: tuple[str, ...]

    @property
    def table(self) -> str:
        return self.rows._meta.db_table

    @property
    def into(self) -> str:
        return f"{self.tally._meta.db_table} ({', '.join(self.columns)}, count)"

    def of(self, row: str) -> str:
        return ", ".join(one.format(row) for one in self.sort)

    def counted(self, rows: str, sign: str = "") -> str:
        """The statement that adds rows, or takes them away with the sign -."""
        group = ", ".join(str(place) for place, _ in enumerate(self.columns, start=1))
        return (
            f"INSERT INTO {self.into} SELECT {self.of('r')}, {sign}count(*) FROM {rows} r "
            f"WHERE r.retired_on IS NULL GROUP BY {group}"
        )


_WORST = " ".join(f"WHEN {{0}}.{column} > 0 THEN '{word}'" for column, word in WORST.items())

LOOPS = Kept(
    LoopTally,
    Loop,
    ("area_id", "kind", "criticality", "worst"),
    ("{0}.area_id", "{0}.kind", "{0}.criticality", f"CASE {_WORST} ELSE '{NO_FINDING}' END"),
    ("area_id", "kind", "criticality", *WORST, "retired_on"),
)
TAGS = Kept(
    TagTally,
    Tag,
    ("area_id", "role", "location"),
    ("(SELECT area_id FROM register_loop WHERE id = {0}.loop_id)", "{0}.role", "{0}.location"),
    ("loop_id", "role", "location", "retired_on"),
)


def compact() -> None:
    """Sum up the lines of each sort. A reader sees the same counts before and after."""
    with connection.cursor() as cursor:
        for kept in (LOOPS, TAGS):
            table, columns = kept.tally._meta.db_table, ", ".join(kept.columns)
            if connection.vendor == "postgresql":
                cursor.execute(
                    f"WITH gone AS (DELETE FROM {table} RETURNING *) INSERT INTO {kept.into} "
                    f"SELECT {columns}, sum(count) FROM gone GROUP BY {columns} HAVING sum(count) <> 0"
                )
            else:
                cursor.execute(f"DELETE FROM {table} WHERE count = 0")


def keep_tallies(connection) -> None:
    """Make the triggers that are missing, and count everything anew if any was."""
    names = [f"{kept.tally._meta.db_table}_{what}" for kept in (LOOPS, TAGS) for what in ("added", "gone", "changed")]
    names.append(f"{TagTally._meta.db_table}_moved")
    on_postgresql = connection.vendor == "postgresql"
    there = "pg_trigger WHERE tgname" if on_postgresql else "sqlite_master WHERE type = 'trigger' AND name"
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT count(*) FROM {there} IN ({', '.join(['%s'] * len(names))})", names)
        if cursor.fetchone()[0] == len(names):
            return
        for statement in _on_postgresql() if on_postgresql else _on_sqlite():
            cursor.execute(statement)
        for kept in (LOOPS, TAGS):
            cursor.execute(f"DELETE FROM {kept.tally._meta.db_table}")
            cursor.execute(kept.counted(kept.table))


_TAGS_OF_LOOP = "SELECT {row}.area_id, role, location, {sign}count(*) FROM register_tag " + (
    "WHERE loop_id = {row}.id AND retired_on IS NULL GROUP BY role, location"
)


def _on_sqlite():
    for kept in (LOOPS, TAGS):
        table, columns = kept.tally._meta.db_table, ", ".join(kept.columns)
        add = f" ON CONFLICT ({columns}) DO UPDATE SET count = count + excluded.count;"
        note = f"INSERT INTO {kept.into} SELECT {kept.of('new')}, 1 WHERE new.retired_on IS NULL{add}"
        forget = (
            f"UPDATE {table} SET count = count - 1 WHERE old.retired_on IS NULL AND ({columns}) = ({kept.of('old')});"
        )
        changed = f"({kept.of('old')}, old.retired_on) IS NOT ({kept.of('new')}, new.retired_on)"
        yield f"CREATE UNIQUE INDEX IF NOT EXISTS {table}_sort ON {table} ({columns})"
        update = f"UPDATE OF {', '.join(kept.depends_on)} ON {kept.table} WHEN {changed}"
        for name, does in (
            ("added", f"AFTER INSERT ON {kept.table} BEGIN {note} END"),
            ("gone", f"AFTER DELETE ON {kept.table} BEGIN {forget} END"),
            ("changed", f"AFTER {update} BEGIN {forget} {note} END"),
        ):
            yield f"DROP TRIGGER IF EXISTS {table}_{name}"
            yield f"CREATE TRIGGER {table}_{name} {does}"
    move = " ".join(
        f"INSERT INTO {TAGS.into} {_TAGS_OF_LOOP.format(row=row, sign=sign)}{add}"
        for row, sign in (("old", "-"), ("new", ""))
    )
    yield "DROP TRIGGER IF EXISTS register_tagtally_moved"
    yield (
        "CREATE TRIGGER register_tagtally_moved AFTER UPDATE OF area_id ON register_loop "
        f"WHEN old.area_id <> new.area_id BEGIN {move} END"
    )


def _on_postgresql():
    for kept in (LOOPS, TAGS):
        table = kept.tally._meta.db_table
        one = f"INSERT INTO {kept.into} SELECT {{}}, {{}}1 WHERE {{}}.retired_on IS NULL;"
        change = one.format(kept.of("old"), "-", "old") + one.format(kept.of("new"), "", "new")
        changed = " OR ".join(f"old.{column} IS DISTINCT FROM new.{column}" for column in kept.depends_on)
        for name, when, does in (
            (
                "added",
                f"INSERT ON {kept.table} REFERENCING NEW TABLE AS added FOR EACH STATEMENT",
                f"{kept.counted('added')};",
            ),
            (
                "gone",
                f"DELETE ON {kept.table} REFERENCING OLD TABLE AS gone FOR EACH STATEMENT",
                f"{kept.counted('gone', '-')};",
            ),
            (
                "changed",
                f"UPDATE OF {', '.join(kept.depends_on)} ON {kept.table} FOR EACH ROW WHEN ({changed})",
                change,
            ),
        ):
            yield from _function_and_trigger(f"{table}_{name}", kept.table, when, does)
    yield from _function_and_trigger(
        "register_tagtally_moved",
        "register_loop",
        "UPDATE OF area_id ON register_loop FOR EACH ROW WHEN (old.area_id <> new.area_id)",
        "".join(
            f"INSERT INTO {TAGS.into} {_TAGS_OF_LOOP.format(row=row, sign=sign)};"
            for row, sign in (("old", "-"), ("new", ""))
        ),
    )


def _function_and_trigger(name: str, table: str, when: str, does: str):
    yield f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {does} RETURN NULL; END $$"
    yield f"DROP TRIGGER IF EXISTS {name} ON {table}"
    yield f"CREATE TRIGGER {name} AFTER {when} EXECUTE FUNCTION {name}()"
