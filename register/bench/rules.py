"""Checking loops against every rule, beside reading the same rows with nothing but the database's own driver."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.db import connection, transaction
from django.utils import timezone

from register.bench.comparison import Comparison
from register.loading import load_loops
from register.models import Loop, Tag
from register.rules.engine import all_rules
from register.services.checking import check_plant, recheck

Statements = list[tuple[str, tuple]]

FLOOR = "the same rows read by the driver alone"


def comparisons() -> Iterator[Comparison]:
    """The plant of the current database, then its first loop; what is found is rolled back."""
    pks = list(Loop.objects.in_service().order_by("pk").values_list("pk", flat=True))
    rules = f"{len(all_rules())} rules"
    tags = Tag.objects.filter(loop__in=Loop.objects.in_service()).count()
    yield _comparison(
        "the whole plant loaded, checked and its findings compared",
        f"{rules}, {len(pks)} loops, {tags} tags",
        lambda: list(check_plant()),
        None,
    )
    if pks:
        at = timezone.now()
        tags = Tag.objects.filter(loop=pks[0]).count()
        yield _comparison(
            "one loop, as after each change of it", f"{rules}, {tags} tags", lambda: recheck(pks[:1], at=at), pks[:1]
        )


def _comparison(what: str, size: str, check: Callable[[], object], pks: list[int] | None) -> Comparison:
    statements = _statements(lambda: load_loops(pks))

    def checked() -> None:
        with transaction.atomic():
            check()
            transaction.set_rollback(True)

    return Comparison(what, size, FLOOR, checked, lambda: _read(statements))


def _statements(load: Callable[[], object]) -> Statements:
    """The statements by which something is loaded, with their values."""
    seen: Statements = []

    def note(execute, sql, params, many, context):
        seen.append((sql, tuple(params or ())))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        load()
    return seen


def _read(statements: Statements) -> int:
    """How many rows the driver reads for some statements."""
    rows = 0
    with connection.cursor() as cursor:  # opens the connection, if it is not open yet
        bare = cursor.connection.cursor()
        for sql, values in statements:
            # SQLite's own mark for a value is ?, the one that Django writes is %s.
            bare.execute(sql % (("?",) * len(values)) if connection.vendor == "sqlite" else sql, values)
            rows += len(bare.fetchall())
        bare.close()
    return rows
