"""Take back a whole import: what it changed is as it was, what it added is gone; what was recorded stays.

Revisions are never taken away, so a loop that the import added is retired, with its area if that was new too. All
else that it added goes, together with the counts and the catalogue's revisions that the import itself made of it;
those are handed back to be kept with the import.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from django.db import IntegrityError, models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from register.models import (
    Area,
    Asset,
    CatalogueModel,
    CatalogueRevision,
    Loop,
    Revision,
    StockLine,
    StockMovement,
    User,
)
from register.plant.words import AssetState
from register.services import recording, stock, undoing
from register.services.catalogue import note_changes, stated
from register.services.import_plan import (
    Model,
    Plan,
    Sheet,
    columns_put_aside,
    keep_area_paths,
    loops_of,
    put_aside,
    write_lists,
)
from register.services.import_tables import TABLES
from register.services.importing import lock_loops
from register.services.permissions import May, require
from register.services.recording import REASON_LENGTH, Refused, chunks

NAMED = 5
"""What a refusal names; of more it says how many."""
RECORDS: dict[Model, list[tuple[Model, str]]] = {
    Loop: [(Revision, "loop")],
    CatalogueModel: [(CatalogueRevision, "model")],
    StockLine: [(StockMovement, "line")],
    Asset: [(StockMovement, "asset")],
}
"""What is recorded of a row each time it changes, and by which column it is of the row."""

Removed = list[tuple[Model, list[dict[str, Any]]]]


class Journal:
    """What an import wrote: keys of the rows that it added, and what the columns of those held that it changed."""

    def __init__(self, parts: Iterable[tuple[Model, list[int], Iterable[tuple[int, dict[str, Any]]]]]):
        self.added: dict[Model, set[int]] = {model: set() for model in TABLES}
        self.changed: dict[Model, dict[int, dict[str, Any]]] = {model: {} for model in TABLES}
        for model, added, changed in parts:
            self.added[model].update(added)
            for pk, was in changed:
                self.changed[model].setdefault(pk, {}).update(was)

    def touched(self) -> dict[Model, set[int]]:
        return {model: self.added[model] | self.changed[model].keys() for model in TABLES}


def undo_import(
    sheets: Mapping[Model, Sheet],
    journal: Journal,
    *,
    imported_at: datetime,
    by: User,
    reason: str,
    told: Callable[[int, int], None],
) -> Removed:
    """Take back what the rows of these sheets did. Returns what was recorded of rows that are gone.

    Raises NotAllowed, or Refused where something that the import touched has changed since.
    """
    require(by, May.IMPORT)
    at = timezone.now()
    said = _("Import of %(day)s undone: %(reason)s") % {"day": timezone.localdate(imported_at), "reason": reason}
    with _in_one(), transaction.atomic():
        lock_loops()
        touched = journal.touched()
        loops = loops_of(touched)
        _refuse_changed(sheets, touched, loops, imported_at)
        beside = set().union(*(recording.related_loops(chunk) for chunk in chunks(loops)))
        catalogue = stated()
        undone = _Undoing(journal, at, told)
        undone.run()
        signed = {"by": by, "reason": said[:REASON_LENGTH], "at": at}
        note_changes(catalogue, stated(), **signed)
        stock.note_counts(undone.lines_counted, undone.items_counted, **signed)
        for chunk in chunks(journal.added[Loop]):
            recording.record(chunk, **signed)
        recording.record_with_neighbours(loops | beside, **signed)
    return undone.removed


@contextmanager
def _in_one() -> Iterator[None]:
    try:
        yield
    except IntegrityError as error:
        message = _("The database refuses to set all of it back together (%(error)s). Nothing was undone.")
        raise Refused(message % {"error": error}) from error


def _refuse_changed(sheets: Mapping[Model, Sheet], touched: dict[Model, set[int]], loops: set[int], since) -> None:
    for model, records in RECORDS.items():
        for record, column in records:
            names = {}
            for chunk in chunks(loops if model is Loop else touched[model]):
                later = record.objects.filter(**{f"{column}__in": chunk}, at__gt=since).select_related(column, "by")
                later = later.defer("compressed") if record is Revision else later
                names |= {f"{getattr(one, column)} ({one.by.display_name if one.by else ''})": one for one in later}
            _refuse(list(names))
    told = (f"{change.model._meta.verbose_name} {' '.join(map(str, change.key))}" for change in Plan(sheets).changes())
    _refuse(list(told))


def _refuse(names: list[str]) -> None:
    if names:
        shown = ", ".join(names[:NAMED])
        if len(names) > NAMED:
            shown += _(" and %(count)d more") % {"count": len(names) - NAMED}
        raise Refused(
            _("%(what)s: changed since. An import can be undone only while all that it touched stands as it left it.")
            % {"what": shown}
        )


class _Undoing:
    """Table by table, from the last written to the first. Part of the caller's transaction."""

    def __init__(self, journal: Journal, at: datetime, told: Callable[[int, int], None]):
        self.journal, self.at, self.told = journal, at, told
        self.removed: Removed = []
        self.lines_counted: list[tuple[int, int, int]] = []
        self.items_counted: list[tuple[int, int]] = []

    def run(self) -> None:
        total = sum(map(len, self.journal.touched().values()))
        done = 0
        for model in reversed(TABLES):
            within = [one.name for one in model._meta.concrete_fields if one.related_model is model]
            self._restore(model, lambda column, within=within: column in within)
            self._remove(model)
            self._restore(model, lambda column, within=within: column not in within)
            done += len(self.journal.added[model]) + len(self.journal.changed[model])
            self.told(done, 2 * total)
        if self.journal.added[Area] or self.journal.changed[Area]:
            _keep_area_paths()

    def _restore(self, model: Model, wanted: Callable[[str], bool]) -> None:
        values: dict[str, dict[int, Any]] = defaultdict(dict)
        for pk, was in self.journal.changed[model].items():
            for column, value in was.items():
                if wanted(column):
                    values[column][pk] = value
        self._count(model, values)
        for column in columns_put_aside(model) & values.keys():
            put_aside(model, column, values[column])
        for column, by_pk in values.items():
            field = model._meta.get_field(column)
            if field.many_to_many:
                keys = dict(field.related_model.objects.values_list("name", "pk"))
                write_lists(field, {pk: [keys[name] for name in names] for pk, names in by_pk.items()})
            else:
                undoing.write_column(model, column, by_pk)

    def _count(self, model: Model, values: Mapping[str, Mapping[int, Any]]) -> None:
        """What this changes of the store's figures."""
        if model is StockLine and "quantity" in values:
            for row in StockLine.objects.filter(pk__in=values["quantity"]):
                self.lines_counted.append((row.pk, row.quantity, values["quantity"][row.pk]))
        elif model is Asset and "state" in values:
            for row in Asset.objects.filter(pk__in=values["state"]):
                change = (values["state"][row.pk] == AssetState.IN_STORE) - (row.state == AssetState.IN_STORE)
                if change:
                    self.items_counted.append((row.pk, change))

    def _remove(self, model: Model) -> None:
        added = self.journal.added[model]
        if model is Loop:
            for chunk in chunks(added):
                Loop.objects.filter(pk__in=chunk).update(retired_on=timezone.localdate(self.at))
            return
        if model is Area:
            added = added - _areas_with_loops()
        within = [one.name for one in model._meta.concrete_fields if one.related_model is model]
        for chunk in chunks(added):
            if within:  # those that go may refer to each other
                model.objects.filter(pk__in=chunk).update(**dict.fromkeys(within))
        for chunk in chunks(added):
            for record, column in RECORDS.get(model, ()):
                records = record.objects.filter(**{f"{column}__in": chunk})
                if rows := [_raw(one) for one in records]:
                    self.removed.append((record, rows))
                    records.delete()
            self._refuse_used(model, chunk)
            model.objects.filter(pk__in=chunk).delete()

    def _refuse_used(self, model: Model, pks: list[int]) -> None:
        """Whatever still refers to rows that go was not of the import."""
        for relation in model._meta.related_objects:
            other, column = relation.related_model, relation.field.name
            users = other._default_manager.filter(**{f"{column}__in": pks})
            _refuse([f"{other._meta.verbose_name} {one}" for one in users[: 2 * NAMED]])


def _raw(row: models.Model) -> dict[str, Any]:
    return {column.attname: undoing.raw_value(row, column.name) for column in row._meta.concrete_fields}


def _areas_with_loops() -> set[int]:
    """Areas in which a loop lies, and all around them."""
    parents = dict(Area.objects.values_list("pk", "parent_id"))
    found: set[int] = set()
    for pk in Loop.objects.order_by().values_list("area_id", flat=True).distinct():
        while pk and pk not in found:
            found.add(pk)
            pk = parents[pk]
    return found


def _keep_area_paths() -> None:
    areas = {code: (name, above) for code, name, above in Area.objects.values_list("code", "name", "parent__code")}

    def path_of(code: str) -> str:
        name, above = areas[code]
        return f"{path_of(above)} / {name}" if above else name

    keep_area_paths(path_of)
