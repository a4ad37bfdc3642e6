"""Checking and saving loops, beside the same statements sent by nothing but the database's own driver."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

from django.db import connection, transaction

from register.bench.comparison import Comparison
from register.jobs.checking import check, helped
from register.jobs.running import queue, run
from register.loading import load_loops
from register.models import Alarm, Loop, Tag, User, UserRole
from register.rules.engine import all_rules
from register.services.checking import CHUNK, check_plant
from register.services.editing import save_alarm

Statements = list[tuple[str, tuple]]


def comparisons() -> Iterator[Comparison]:
    """The plant of the current database; what is found is rolled back."""
    pks = list(Loop.objects.in_service().order_by("pk").values_list("pk", flat=True))
    tags = Tag.objects.filter(loop__in=Loop.objects.in_service()).count()
    size = f"{len(all_rules())} rules, {len(pks)} loops, {tags} tags"
    reading = [
        statement
        for start in range(0, len(pks), CHUNK)
        for statement in _statements(lambda start=start: load_loops(pks[start : start + CHUNK]))
    ]
    yield Comparison(
        "the whole plant read, checked and its findings compared and stored",
        size,
        "the same rows read by the driver alone",
        lambda: _undone(lambda: list(check_plant())),
        lambda: _sent(reading),
    )
    yield from _one_loop(len(pks))


def of_processes() -> Iterator[Comparison]:
    """What is found is stored, as by every check of the plant."""
    loops = Loop.objects.in_service().count()
    yield Comparison(
        "the whole plant checked by two processes", f"{loops} loops", "one", lambda: _by(2), lambda: _by(1)
    )


def _by(processes: int) -> None:
    job, _ = queue(check, by=None)
    with helped(job, processes - 1):
        run(job.pk)


def _one_loop(loops: int) -> Iterator[Comparison]:
    """An alarm's dead band changed: the revision written, the loop and its neighbours checked again."""
    alarm = Alarm.objects.filter(tag__loop__retired_on__isnull=True).select_related("tag__loop").order_by("pk").first()
    planner = User.objects.filter(role=UserRole.PLANNER).first()
    if alarm is None or planner is None:
        return
    facts = {"deadband": (alarm.deadband or Decimal(1)) * 2}

    def save() -> None:
        row = Alarm.objects.get(pk=alarm.pk)
        save_alarm(row, facts, by=planner, seen_revision=alarm.tag.loop.revision, reason="Benchmark")

    statements = _statements(lambda: _undone(save))
    yield Comparison(
        "one loop saved, its revision written, it and its neighbours checked",
        f"a plant of {loops} loops, {len(statements)} statements",
        "the same statements sent by the driver alone",
        lambda: _undone(save),
        lambda: _undone(lambda: _sent(statements)),
    )


def _undone(work: Callable[[], object]) -> None:
    with transaction.atomic():
        work()
        transaction.set_rollback(True)


def _statements(work: Callable[[], object]) -> Statements:
    """The statements that some work sends, with their values."""
    seen: Statements = []

    def note(execute, sql, params, many, context):
        if not sql.startswith("BEGIN"):
            seen.append((sql, tuple(params or ())))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        work()
    return seen


def _sent(statements: Statements) -> int:
    """How many rows the driver reads for some statements."""
    rows = 0
    with connection.cursor() as cursor:  # opens the connection, if it is not open yet
        bare = cursor.connection.cursor()
        for sql, values in statements:
            # SQLite's own mark for a value is ?, the one that Django writes is %s.
            bare.execute(sql % (("?",) * len(values)) if connection.vendor == "sqlite" else sql, values)
            rows += len(bare.fetchall()) if bare.description else 0
        bare.close()
    return rows
