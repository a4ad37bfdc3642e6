"""One field of many loops, tags or assets set at once, and set back again: all of them or none."""

from __future__ import annotations

import zlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Model, QuerySet
from django.utils import timezone

from register.models import Asset, BulkEdit, Loop, Revision, Tag, User
from register.plant.words import AssetState
from register.services import undoing
from register.services.permissions import May
from register.services.recording import REASON_LENGTH, Refused, Stale, changing

MOST = 1000
"""Rows changed at once: each is loaded, checked and recorded while everybody else's changes wait."""


@dataclass(frozen=True)
class Many:
    """A kind of row: which of its columns may be set for many at once, and the lookup from a loop to it.

    A column in ``appended`` is a text that a line is added to; what stands there is kept.
    """

    name: str
    model: type[Model]
    columns: tuple[str, ...]
    loops: str
    appended: tuple[str, ...] = ("remarks",)

    def rows(self, pks: Collection[int]) -> QuerySet:
        """Rows of these keys that are in service, in the order of their names."""
        rows = self.model._default_manager.filter(pk__in=pks)
        if self.model is Tag:
            rows = rows.filter(retired_on__isnull=True).select_related("loop")
        elif self.model is Loop:
            rows = rows.filter(retired_on__isnull=True)
        return rows

    def loops_of(self, pks: Collection[int]) -> QuerySet[Loop]:
        return Loop.objects.filter(**{f"{self.loops}__in": pks}).distinct() if self.loops else Loop.objects.none()


LOOPS = Many(
    "loops",
    Loop,
    (
        "service",
        "area",
        "kind",
        "criticality",
        "on_opening",
        "danger",
        "required_accuracy",
        "proof_test_interval_months",
        "remarks",
    ),
    loops="pk",
)
TAGS = Many(
    "tags",
    Tag,
    (
        "description",
        "location",
        "place",
        "specified",
        "supply_kind",
        "supply_v",
        "ambient_c",
        "zone",
        "gas_group",
        "fault_direction",
        "fuse",
        "calibration_interval_months",
    ),
    loops="tags",
)
ASSETS = Many("assets", Asset, ("store_place", "remarks"), loops="")
KINDS = {kind.name: kind for kind in (LOOPS, TAGS, ASSETS)}


class StaleRows(Stale):
    """Rows of the choice were changed or retired since the person opened the form."""

    def __init__(self, rows: Sequence[Model], missed: Sequence[Revision], now: str):
        Exception.__init__(self, f"{_named(rows)} changed while you were editing. Nothing of yours was saved yet.")
        self.missed, self.now = missed, now


def _named(rows: Sequence[object]) -> str:
    return ", ".join(map(str, rows[:NAMED])) + (f" and {len(rows) - NAMED} more" if len(rows) > NAMED else "")


NAMED = 5
"""Rows that a message names; of more it says how many."""


def seen(rows: Sequence[Model]) -> str:
    """Which rows a person sees, and each as of when: what their form carries."""
    return ",".join(f"{row.pk}:{_version(row)}" for row in rows)


def _version(row: Model) -> int:
    """A number that another change makes another: the loop's revision; of an asset, which has none, its facts'."""
    if isinstance(row, Asset):
        return zlib.crc32(repr((row.state, row.store_place, row.remarks)).encode())
    return row.loop.revision if isinstance(row, Tag) else row.revision


def versions(seen: str) -> dict[int, int]:
    """Raises Refused for what :func:`seen` never wrote."""
    try:
        return {int(pk): int(version) for pk, _, version in (one.partition(":") for one in seen.split(",") if one)}
    except ValueError as error:
        raise Refused("The choice of rows did not come through whole. Go back to the list and choose again.") from error


@dataclass(frozen=True)
class Line:
    """One row of the choice: what its field holds and what it would hold, in words and as JSON keeps it."""

    pk: int
    name: str
    old: str
    new: str
    was: undoing.Raw
    will_be: undoing.Raw

    @property
    def changes(self) -> bool:
        return self.was != self.will_be


def lines(kind: Many, column: str, rows: Sequence[Model], value: Any) -> list[Line]:
    """What setting a column to a value, as a form cleans it, does to each row."""
    typed = kind.model(**{column: value})
    wanted = undoing.raw_value(typed, column)
    field = kind.model._meta.get_field(column)
    names = {}
    if field.is_relation:
        keys = {undoing.raw_value(row, column) for row in rows} | {wanted}
        names = {key: str(one) for key, one in field.related_model._default_manager.in_bulk(keys - {None}).items()}
    found = []
    for row in rows:
        was = undoing.raw_value(row, column)
        will_be = "\n".join(filter(None, (was, wanted))) if column in kind.appended else wanted
        old, new = (names.get(one, "") if field.is_relation else _words(one) for one in (was, will_be))
        found.append(Line(row.pk, str(row), old, new, was, will_be))
    return found


def _words(raw: undoing.Raw) -> str:
    return "" if raw is None else str(raw)


def change_many(
    kind: Many, column: str, value: Any, *, seen_revision: str, by: User, reason: str, work_order: str = ""
) -> BulkEdit:
    """Set a column of every row that the person saw. Rows that hold the value already are left alone.

    Raises NotAllowed, Refused, or StaleRows where a row was changed since it was seen.
    """
    asked = versions(seen_revision)
    at = timezone.now()
    if len(asked) > MOST:
        raise Refused(f"At most {MOST} rows are changed at once, and these are {len(asked)}. Narrow the list first.")
    loops = kind.loops_of(asked)
    with changing(*loops, by=by, needs=May.EDIT_REGISTER, reason=reason, work_order=work_order, at=at):
        rows = list(kind.rows(asked).select_for_update(of=("self",)))
        _refuse_stale(kind, rows, asked)
        _refuse_what_stands(kind, column, rows)
        changed = [line for line in lines(kind, column, rows, value) if line.changes]
        if not changed:
            raise Refused("Every row holds this already. There is nothing to change.")
        undoing.write_column(kind.model, column, {line.pk: line.will_be for line in changed})
        return BulkEdit.objects.create(
            kind=kind.name,
            column=column,
            lines=[[line.pk, line.name, line.old, line.new, line.was, line.will_be] for line in changed],
            by=by,
            at=at,
            reason=reason,
            work_order=work_order,
        )


def undo(edit: BulkEdit, *, by: User, reason: str) -> None:
    """Give every row what it held before. Raises NotAllowed, or Refused where one no longer holds what was set."""
    kind = KINDS[edit.kind]
    before = {pk: was for pk, *_, was, _ in edit.lines}
    after = {pk: will_be for pk, *_, will_be in edit.lines}
    at = timezone.now()
    said = f"Change of {timezone.localdate(edit.at)} undone: {reason}"
    with changing(*kind.loops_of(before), by=by, needs=May.EDIT_REGISTER, reason=said[:REASON_LENGTH], at=at):
        if not BulkEdit.objects.select_for_update().filter(pk=edit.pk, undone_at__isnull=True).exists():
            raise Refused("This was undone already.")
        if moved := undoing.changed_since(kind.model, edit.column, after):
            raise Refused(f"{_named(moved)}: changed since. Only what still stands as it was set can be undone.")
        in_service = set(kind.rows(before).values_list("pk", flat=True))
        if gone := [name for pk, name, *_ in edit.lines if pk not in in_service]:
            raise Refused(f"{_named(gone)}: retired since. Only what still stands as it was set can be undone.")
        undoing.write_column(kind.model, edit.column, before)
        edit.undone_at, edit.undone_by, edit.undone_because = at, by, reason
        edit.save()


def _refuse_stale(kind: Many, rows: Sequence[Model], asked: Mapping[int, int]) -> None:
    found = {row.pk: row for row in rows}
    stale = [row for pk, row in found.items() if _version(row) != asked[pk]]
    gone = kind.model._default_manager.filter(pk__in=asked.keys() - found.keys())
    if not stale and len(found) == len(asked):
        return
    since = {getattr(row, "loop_id", row.pk): asked[row.pk] for row in stale} if kind.loops else {}
    missed = Revision.objects.filter(loop__in=since).select_related("by", "loop").defer("compressed").order_by("-at")
    told = [one for one in missed if one.number > since[one.loop_id]]
    raise StaleRows([*stale, *gone], told[:MISSED_SHOWN], seen(rows))


MISSED_SHOWN = 20
"""Revisions made meanwhile that a refusal tells."""


def _refuse_what_stands(kind: Many, column: str, rows: Sequence[Model]) -> None:
    """What is installed or fitted lies in no store place."""
    standing = [row for row in rows if kind is ASSETS and row.state == AssetState.IN_SERVICE]
    if standing and column == "store_place":
        raise Refused(f"{_named(standing)}: in service, so in no store place. Leave out what stands.", field=column)
