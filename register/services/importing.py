"""Bring rows of many tables into the register: all of them or none, by the names that people know things by."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils import timezone

from register.models import Loop, User, tallies
from register.services import recording, stock
from register.services.catalogue import note_changes, stated
from register.services.import_plan import Counts, Model, Plan, Problem, Sheet, standing
from register.services.import_tables import TABLES
from register.services.packing import PackedRows, Row
from register.services.permissions import May, require

__all__ = [
    "TABLES",
    "CannotImport",
    "Counts",
    "Outcome",
    "PackedRows",
    "Plan",
    "Problem",
    "Row",
    "Sheet",
    "import_register",
    "problems_of",
    "standing",
]


class CannotImport(Exception):
    """Nothing was imported. Carries every problem that was found."""

    def __init__(self, problems: list[Problem]):
        self.problems = problems
        super().__init__("Nothing was imported. " + " ".join(problem.message for problem in problems[:3]))


class MovedOn(Exception):
    """Nothing was imported: the register changed since somebody looked at what the import would do."""


@dataclass(frozen=True)
class Outcome:
    """What an import did: how many rows of each table, and by which it can be undone."""

    counts: dict[Model, Counts]
    written: list[tuple[Model, int, bytes]]


def _ignore(done: int, total: int) -> None:
    pass


def import_register(
    sheets: Mapping[Model, Sheet],
    *,
    by: User,
    reason: str,
    at: datetime | None = None,
    seen: str = "",
    told: Callable[[int, int], None] = _ignore,
) -> Outcome:
    """Add the rows that are new and change those that differ; what the register holds besides stays as it is.

    Revisions and findings of the loops touched follow in the same transaction. ``seen`` is the fingerprint of the plan
    that the person agreed to. ``told`` is called with how much is done and of how much; what it raises ends the import.
    Raises NotAllowed, MovedOn, or CannotImport with every problem.
    """
    require(by, May.IMPORT)
    at = at or timezone.now()
    try:
        with transaction.atomic():
            lock_loops()
            plan = Plan(sheets)
            if found := plan.problems():
                raise CannotImport(found)
            plan.survey()
            if seen and plan.fingerprint != seen:
                raise MovedOn
            return _written(plan, by=by, reason=reason, at=at, told=told)
    except IntegrityError as error:
        message = f"The database refused the rows together, and none was kept ({error}). Import the changes one by one."
        raise CannotImport([Problem(message)]) from error


def _written(plan: Plan, *, by: User, reason: str, at: datetime, told: Callable[[int, int], None]) -> Outcome:
    """Part of the caller's transaction."""
    touched = plan.loops_touched()
    rows = sum(one.added + one.changed for one in plan.counts.values())
    done, written, models = 0, [], stated()
    for part in plan.write():
        done += len(part.added) + len(part.changed)
        written.append((part.model, len(part.added) + len(part.changed), part.packed()))
        told(min(done, rows), 2 * rows)
    note_changes(models, stated(), by=by, reason=reason, at=at)
    stock.note_counts(plan.lines_counted, plan.items_counted, at=at, by=by, reason=reason)
    recording.record_with_neighbours(
        touched | plan.loops_touched(),
        by=by,
        reason=reason,
        at=at,
        told=lambda loops, of: told(rows + rows * loops // of, 2 * rows),
    )
    tallies.compact()
    return Outcome(plan.counts, written)


def lock_loops() -> None:
    """Let editors wait until the caller's transaction ends."""
    list(Loop.objects.select_for_update().order_by("pk").values_list("pk"))


def problems_of(sheets: Mapping[Model, Sheet], unread: Collection[Model] = ()) -> list[Problem]:
    """Everything that would keep the rows out, seen together with what the register holds. Writes nothing.

    Nothing is said of references to the tables that are ``unread``: what they would hold is not known.
    """
    return Plan(sheets, unread).problems()
