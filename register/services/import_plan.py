"""Rows beside what the register holds: what is new, what differs, what cannot be; and writing what may."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from operator import itemgetter
from typing import Any

from django.db import connection, models
from django.db.models import CharField, F, Value
from django.db.models.functions import Cast, Concat

from register.models import (
    Area,
    Asset,
    BoardFamily,
    BoardFitting,
    Calibration,
    CatalogueModel,
    Link,
    PlannedMovement,
    Port,
    StockLine,
)
from register.models.fields import QuantityField
from register.plant.words import AssetState, Direction, ModelKind
from register.services import bulk, recording, undoing
from register.services.import_tables import TABLES, Table
from register.services.packing import PackedRows, Row, pack, together

ASIDE = "⇄ "
ASIDE_BY_KEY = Concat(Value(ASIDE), Cast("pk", CharField()))
"""What stands for a moment where rows exchange what only one may have."""

Model = type[models.Model]
Key = tuple[Any, ...]
Facts = dict[str, Any]


@dataclass(frozen=True)
class Sheet:
    """The rows of one table, which all have the same columns, named by lookup path."""

    paths: tuple[str, ...]
    rows: list[Row] | PackedRows


@dataclass(frozen=True)
class Problem:
    """What keeps a row out; the message says what is wrong and how to put it right. No row: the import as a whole."""

    message: str
    model: Model | None = None
    row: int = 0
    path: str = ""


@dataclass(frozen=True)
class Counts:
    added: int
    changed: int
    unchanged: int


@dataclass(frozen=True, slots=True)
class Change:
    """A row that the register does not hold (no ``pk``), or holds otherwise: its facts as they stand, and the paths
    that differ."""

    model: Model
    row: Row
    key: Key
    pk: int | None
    standing: Facts
    differing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Written:
    """Some rows of one table that an import wrote: keys of the new, and of each changed one what its columns held."""

    model: Model
    added: list[int]
    changed: list[tuple[int, dict[str, Any]]]

    def packed(self) -> bytes:
        return pack([self.added, self.changed])


def is_blank(fact: Any) -> bool:
    return fact is None or fact == "" or fact == ()


def same(one: Any, other: Any) -> bool:
    """Numbers are compared as typed: 10.5 is not 10.50."""
    if isinstance(one, Decimal) and isinstance(other, Decimal):
        return format(one, "f") == format(other, "f")
    return one == other or (is_blank(one) and is_blank(other))


class Plan:
    """Holds the keys of the tables concerned, never their rows: those are read again for each pass, some at a time."""

    def __init__(self, sheets: Mapping[Model, Sheet], unread: Collection[Model] = ()):
        self.unread = unread
        self.sheets = {model: sheets[model] for model in TABLES if model in sheets}
        self.first: dict[Model, dict[Key, int]] = defaultdict(dict)
        self.doubles: dict[Model, list[tuple[Row, Key]]] = defaultdict(list)
        self._pks: dict[Model, dict[Key, int]] = {}
        for model, sheet in self.sheets.items():
            first = self.first[model]
            for row in sheet.rows:
                key = key_of(model, row.facts)
                if key is None:
                    continue
                if key in first:
                    self.doubles[model].append((row, key))
                else:
                    first[key] = row.number

    def pks(self, model: Model) -> dict[Key, int]:
        """Primary keys of all rows of a table that the register holds, by what names them."""
        if model not in self._pks:
            key = TABLES[model].key
            rows = model.objects.order_by().values_list(*key, "pk")
            self._pks[model] = {tuple(row[:-1]): row[-1] for row in rows.iterator(chunk_size=10_000)}
        return self._pks[model]

    def _is_there(self, model: Model, key: Key) -> bool:
        return key in self.first[model] or key in self.pks(model)

    def _merged(self, model: Model, paths: tuple[str, ...]) -> dict[Key, tuple[Any, ...]]:
        """Some columns of a table as it would be."""
        key = TABLES[model].key
        rows = model.objects.order_by("pk").values_list(*key, *paths).iterator(chunk_size=10_000)
        found = {tuple(row[: len(key)]): tuple(row[len(key) :]) for row in rows}
        nothing = (None,) * len(paths)
        sheet = self.sheets.get(model)
        if sheet and not set(paths).isdisjoint(sheet.paths):
            for row in sheet.rows:
                if (named := key_of(model, row.facts)) is not None:
                    held = found.get(named, nothing)
                    found[named] = tuple(row.facts.get(path, old) for path, old in zip(paths, held, strict=True))
        return found

    # What is new or differs

    def _beside(self, model: Model) -> Iterator[tuple[Row, Key, int | None, Facts]]:
        """Each row that has a name, with the key and the facts of the one that the register holds."""
        sheet, pks = self.sheets[model], self.pks(model)
        for rows in together(sheet.rows):
            named = [(row, key) for row in rows if (key := key_of(model, row.facts)) is not None]
            known = [pks[key] for _, key in named if key in pks]
            _, held = standing(TABLES[model], sheet.paths, known) if known else ({}, {})
            for row, key in named:
                yield row, key, pks.get(key), held.get(key, {})

    def changes(self) -> Iterator[Change]:
        """What an import would do, row by row; having run to the end it has counted it for :meth:`write`."""
        self.counts: dict[Model, Counts] = {}
        self.changing: dict[Model, set[int]] = {}
        self._moving: dict[Model, set[int]] = {}
        said = hashlib.sha256()
        for model in self.sheets:
            once = {path for one in TABLES[model].unique for path in (*one.paths, one.until)}
            new, changed, moving, whole = 0, set(), set(), 0
            for row, key, pk, held in self._beside(model):
                whole += 1
                differing = () if pk is None else _differing(row.facts, held)
                if pk is not None and not differing:
                    continue
                told = [(path, held[path], row.facts[path]) for path in differing]
                said.update(repr((model.__name__, key, pk, told)).encode())
                if pk is None:
                    new += 1
                else:
                    changed.add(pk)
                    if not once.isdisjoint(differing):
                        moving.add(pk)
                yield Change(model, row, key, pk, held, differing)
            self.counts[model] = Counts(new, len(changed), whole - new - len(changed))
            self.changing[model], self._moving[model] = changed, moving
        self.fingerprint = said.hexdigest()

    def survey(self) -> None:
        for _ in self.changes():
            pass

    # What cannot be

    def problems(self) -> list[Problem]:
        found = []
        for model in self.sheets:
            found += self._doubles(model)
            found += self._of_rows(model)
            found += self._clashes(model)
        found += self._area_rings()
        found += self._wrong_way_links()
        found += self._boards_of_another_model()
        found += self._calibrations_with_readings()
        order = {model: position for position, model in enumerate(TABLES)}
        return sorted(found, key=lambda problem: (order[problem.model], problem.row))

    def _doubles(self, model: Model) -> Iterator[Problem]:
        """Two rows with one key."""
        for row, key in self.doubles[model]:
            named = " ".join(str(part) for part in key) or "The one row of this sheet"
            yield Problem(
                f"{named} stands in row {self.first[model][key]} already. Each is named once: correct or remove one "
                "of them.",
                model,
                row.number,
                TABLES[model].key[-1] if key else "",
            )

    def _of_rows(self, model: Model) -> Iterator[Problem]:
        """What is wrong with a row by itself, or with what it refers to: neither among the rows nor in the register."""
        sheet, table = self.sheets[model], TABLES[model]
        references = [
            (fk.related_model, tuple(parts.values()), [one for one in parts.values() if one.startswith(f"{fk.name}__")])
            for fk, parts in table.references(sheet.paths).items()
            if fk.related_model not in self.unread
        ]
        lists = [
            (path, column.related_model)
            for path, column in _many_columns(model, sheet.paths).items()
            if column.related_model not in self.unread
        ]
        for row in sheet.rows:
            facts = row.facts
            yield from _of_one_row(model, row)
            for other, paths, own in references:
                if all(path in facts for path in paths) and not all(is_blank(facts[path]) for path in own):
                    key = tuple(facts[path] for path in paths)
                    if not self._is_there(other, key):
                        yield _nothing_there(model, row, own[-1], other, key)
            for path, other in lists:
                for name in facts.get(path, ()):
                    if not self._is_there(other, (name,)):
                        yield _nothing_there(model, row, path, other, (name,))

    def _clashes(self, model: Model) -> Iterator[Problem]:
        """Two rows with different keys that share what only one may have."""
        sheet = self.sheets[model]
        for unique in TABLES[model].unique:
            paths = (*unique.paths, unique.until) if unique.until else unique.paths
            if not sheet.rows or set(paths).isdisjoint(sheet.paths):
                continue
            sharing = defaultdict(list)
            for key, held in self._merged(model, paths).items():
                values = held[: len(unique.paths)]
                if not any(map(is_blank, values)) and not (unique.until and held[-1]):
                    sharing[values].append(key)
            for values, keys in sharing.items():
                rows = [self.first[model][key] for key in keys if key in self.first[model]]
                if len(keys) > 1:
                    for row in rows[1:] or rows:
                        named = " ".join(map(str, values))
                        yield Problem(f"{named}: {unique.says}.", model, row, unique.paths[-1])

    def _area_rings(self) -> Iterator[Problem]:
        for (code,), row in self.first[Area].items():
            if self._area_names(code) is None:
                yield Problem(
                    "This area lies within itself, by way of the areas above it. Correct the area above.",
                    Area,
                    row,
                    "parent__code",
                )

    def _area_names(self, code: str) -> list[str] | None:
        """Names from the root down to an area; None where the areas above it form a ring."""
        names, seen = [], set()
        while code:
            if code in seen:
                return None
            seen.add(code)
            name, code = self._areas.get((code,), ("", None))
            names.insert(0, name or "")
        return names

    @cached_property
    def _areas(self) -> dict[Key, tuple[Any, ...]]:
        return self._merged(Area, ("name", "parent__code"))

    def _wrong_way_links(self) -> Iterator[Problem]:
        """A link runs from an output to an input."""
        if not (sheet := self.sheets.get(Link)) or not sheet.rows:
            return
        ports = self._merged(Port, ("direction",))
        for row in sheet.rows:
            for end, right in (("source", Direction.OUT), ("target", Direction.IN)):
                (direction,) = ports.get((row.facts.get(f"{end}__tag__name"), row.facts.get(f"{end}__name")), (right,))
                if direction not in (None, right):
                    yield Problem(
                        f"{row.facts[f'{end}__tag__name']} {row.facts[f'{end}__name']} is an {direction}put; "
                        "a link runs from an output to an input. Turn the link round, or correct the port's direction.",
                        Link,
                        row.number,
                        f"{end}__name",
                    )

    def _boards_of_another_model(self) -> Iterator[Problem]:
        if not (sheet := self.sheets.get(BoardFitting)) or not sheet.rows:
            return
        assets = self._merged(Asset, ("model__maker", "model__name"))
        for row in sheet.rows:
            recorded = assets.get((row.facts.get("board__code"),))
            if recorded not in (None, (row.facts.get("model__maker"), row.facts.get("model__name"))):
                yield Problem(
                    f"The asset {row.facts['board__code']} is a {' '.join(map(str, recorded))}. "
                    "Correct the asset or the board's model.",
                    BoardFitting,
                    row.number,
                    "board__code",
                )

    def _calibrations_with_readings(self) -> Iterator[Problem]:
        """What was recorded point by point follows from its readings."""
        if not (sheet := self.sheets.get(Calibration)) or not sheet.rows:
            return
        read = set(Calibration.objects.exclude(readings_sha256="").values_list("pk", flat=True))
        for row, _, pk, held in self._beside(Calibration):
            if pk in read and (differing := _differing(row.facts, held)):
                yield Problem(
                    "This calibration was recorded point by point, and what it says follows from its readings. Leave "
                    "the row as the register writes it; if the calibration is wrong, record it anew at the tag.",
                    Calibration,
                    row.number,
                    differing[0],
                )

    # Writing

    def loops_touched(self) -> set[int]:
        """Loops that hang on a row that changes or has changed, as the tables stand now."""
        return loops_of(self.changing)

    def write(self) -> Iterator[Written]:
        """Write what :meth:`changes` found; ``changing`` then holds the new rows too."""
        self.lines_counted: list[tuple[int, int, int]] = []
        self.items_counted: list[tuple[int, int]] = []
        for model, sheet in self.sheets.items():
            yield from _Writer(self, model, sheet).write()
            if model is Area and self.changing[Area]:
                self.changing[Area] |= keep_area_paths(self._area_path)

    def moving(self, model: Model) -> set[int]:
        """Rows of which a column changes that no two rows may share."""
        return self._moving[model]

    def _area_path(self, code: str) -> str:
        return " / ".join(self._area_names(code))


class _Writer:
    """Writes the rows of one table: first the changed, which makes room for the new."""

    def __init__(self, plan: Plan, model: Model, sheet: Sheet):
        self.plan, self.model, self.sheet = plan, model, sheet
        self.pks = plan.pks(model)
        self.many = _many_columns(model, sheet.paths)
        self.plain = [path for path in sheet.paths if "__" not in path and path not in self.many]
        references = TABLES[model].references(sheet.paths)
        self.within = {fk: parts for fk, parts in references.items() if fk.related_model is model}
        self.abroad = {fk: parts for fk, parts in references.items() if fk not in self.within}

    def write(self) -> Iterator[Written]:
        changing = self.plan.changing[self.model]
        self.was: dict[int, dict[str, Any]] = {}
        if changing:
            self._make_room()
            for rows in self._rows(lambda pk: pk in changing):
                yield self._change(rows)
        touched = set(changing)
        if self.plan.counts[self.model].added:
            for rows in self._rows(lambda pk: pk is None):
                written = self._add(rows)
                touched.update(written.added)
                yield written
        if touched and (self.within or self.many):
            added = touched - changing
            for rows in self._rows(lambda pk: pk in touched):
                written = Written(self.model, [], [])
                for fk, parts in self.within.items():
                    self._refer_within(fk, parts, rows, written)
                for path, column in self.many.items():
                    self._list(path, column, rows, written)
                written.changed[:] = [one for one in written.changed if one[0] not in added]
                yield written
        self.plan.changing[self.model] = touched

    def _rows(self, wanted: Callable[[int | None], bool]) -> Iterator[list[tuple[Row, Key, int | None]]]:
        named = ((row, key_of(self.model, row.facts)) for row in self.sheet.rows)
        found = ((row, key, self.pks.get(key)) for row, key in named)
        yield from together(one for one in found if wanted(one[2]))

    def _make_room(self) -> None:
        """Rows that exchange what only one may have, as two areas their names, let go of it first."""
        moving = self.plan.moving(self.model)
        for column in columns_put_aside(self.model):
            for chunk in recording.chunks(moving):
                for row in self.model.objects.filter(pk__in=chunk).only(column):
                    self.was.setdefault(row.pk, {})[column] = undoing.raw_value(row, column)
            put_aside(self.model, column, moving)

    def _change(self, rows: list[tuple[Row, Key, int]]) -> Written:
        instances = self.model.objects.in_bulk([pk for *_, pk in rows])
        columns = [*self.plain, *(fk.name for fk in self.abroad)]
        changed, differing = [], set()
        for row, _, pk in rows:
            instance = instances[pk]
            was = {column: undoing.raw_value(instance, column) for column in columns} | self.was.get(pk, {})
            for path in self.plain:
                setattr(instance, path, row.facts[path])
            for fk, parts in self.abroad.items():
                setattr(instance, fk.attname, self._pk(fk, parts, row.facts))
            now = {column: undoing.raw_value(instance, column) for column in columns}
            changed.append((pk, {column: was[column] for column in columns if was[column] != now[column]}))
            differing.update(changed[-1][1], self.was.get(pk, ()))
            self._count(pk, row.facts, was)
        if differing:
            self.model.objects.bulk_update(instances.values(), sorted(differing), batch_size=500)
        return Written(self.model, [], changed)

    def _add(self, rows: list[tuple[Row, Key, None]]) -> Written:
        keys = bulk.reserve(self.model, len(rows))
        columns = self.model._meta.concrete_fields
        bulk.insert(
            self.model,
            columns,
            ((pk, *(cell(row.facts) for cell in self._cells)) for pk, (row, *_) in zip(keys, rows, strict=True)),
        )
        for pk, (row, key, _) in zip(keys, rows, strict=True):
            self.pks[key] = pk
            self._count(pk, row.facts, {})
        return Written(self.model, keys, [])

    @cached_property
    def _cells(self) -> list[Callable[[Facts], Any]]:
        """For each column but the key, what the database's driver is given of a row's facts."""
        primary, *columns = self.model._meta.concrete_fields
        assert primary.primary_key
        return [self._cell(column) for column in columns]

    def _cell(self, column: models.Field) -> Callable[[Facts], Any]:
        if column.name in self.plain:
            if isinstance(column, QuantityField | models.DateField):
                name = column.name
                return lambda facts: (
                    None if (fact := facts[name]) is None else column.get_db_prep_save(fact, connection)
                )
            return itemgetter(column.name)
        if column in self.abroad:
            pks, paths = self.plan.pks(column.related_model), tuple(self.abroad[column].values())
            return lambda facts: pks.get(tuple([facts[path] for path in paths]))
        if self.model is Area and column.name == "path":
            return lambda facts: f"{ASIDE}{facts['code']}"  # until all areas have their names: see keep_area_paths
        usual = column.get_db_prep_save(column.get_default(), connection)
        return lambda facts: usual

    def _pk(self, fk: models.ForeignKey, parts: dict[str, str], facts: Facts) -> int | None:
        return self.plan.pks(fk.related_model).get(tuple(facts[path] for path in parts.values()))

    def _refer_within(self, fk, parts: dict[str, str], rows: list[tuple[Row, Key, int]], written: Written) -> None:
        instances = self.model.objects.in_bulk([pk for *_, pk in rows])
        for row, _, pk in rows:
            was = undoing.raw_value(instances[pk], fk.name)
            setattr(instances[pk], fk.attname, self._pk(fk, parts, row.facts))
            if undoing.raw_value(instances[pk], fk.name) != was:
                written.changed.append((pk, {fk.name: was}))
        self.model.objects.bulk_update(instances.values(), [fk.name], batch_size=500)

    def _list(self, path: str, column, rows: list[tuple[Row, Key, int]], written: Written) -> None:
        held = lists_of(self.model, path, [pk for *_, pk in rows])
        written.changed.extend((pk, {path: list(held[pk])}) for row, _, pk in rows if held[pk] != row.facts[path])
        others = self.plan.pks(column.related_model)
        write_lists(column, {pk: [others[name,] for name in row.facts[path]] for row, _, pk in rows})

    def _count(self, pk: int, facts: Facts, was: Facts) -> None:
        """What an import says of the store is a count."""
        if self.model is StockLine and "quantity" in facts:
            self.plan.lines_counted.append((pk, was.get("quantity", 0), facts["quantity"]))
        elif self.model is Asset:
            before = was.get("state")
            change = (facts.get("state", before) == AssetState.IN_STORE) - (before == AssetState.IN_STORE)
            if change:
                self.plan.items_counted.append((pk, change))


def loops_of(rows: Mapping[Model, Iterable[int]]) -> set[int]:
    """Loops that hang on any of these rows, as the tables stand now."""
    found = set()
    for model, pks in rows.items():
        for path in TABLES[model].loops:
            for chunk in recording.chunks(pks):
                found.update(model.objects.order_by().filter(pk__in=chunk).values_list(path, flat=True))
    return found - {None}


def keep_area_paths(path_of: Callable[[str], str]) -> set[int]:
    """New, renamed and moved areas, and all below them, get their new path. Returns their keys."""
    moved = [area for area in Area.objects.all() if area.path != path_of(area.code)]
    Area.objects.filter(pk__in=[area.pk for area in moved]).update(path=ASIDE_BY_KEY)
    for area in moved:
        area.path = path_of(area.code)
    Area.objects.bulk_update(moved, ["path"], batch_size=500)
    return {area.pk for area in moved}


def columns_put_aside(model: Model) -> set[str]:
    """Columns of which rows let go before they exchange what only one may have."""
    return {unique.until or unique.paths[-1] for unique in TABLES[model].unique}


def put_aside(model: Model, column: str, pks: Iterable[int]) -> None:
    """Let rows hold for a moment what no other holds in a column that only one may have so; a date: not open."""
    is_date = isinstance(model._meta.get_field(column), models.DateField)
    for chunk in recording.chunks(pks):
        rows = model.objects.filter(pk__in=chunk)
        if is_date:
            rows.filter(**{f"{column}__isnull": True}).update(**{column: F("from_date")})
        else:
            rows.update(**{column: ASIDE_BY_KEY})


def lists_of(model: Model, path: str, pks: Collection[int]) -> dict[int, tuple[str, ...]]:
    """Names of what each row lists, in their order."""
    found = dict.fromkeys(pks, ())
    pairs = model.objects.filter(pk__in=pks, **{f"{path}__isnull": False}).order_by(f"{path}__name")
    for pk, name in pairs.values_list("pk", f"{path}__name"):
        found[pk] += (name,)
    return found


def write_lists(column: models.ManyToManyField, lists: dict[int, Iterable[int]]) -> None:
    """Let each row list the others of these keys, and no more."""
    through = column.remote_field.through
    own, other = column.m2m_field_name(), column.m2m_reverse_field_name()
    through.objects.filter(**{f"{own}__in": list(lists)}).delete()
    through.objects.bulk_create(
        through(**{f"{own}_id": pk, f"{other}_id": one}) for pk, others in lists.items() for one in others
    )


def _many_columns(model: Model, paths: Iterable[str]) -> dict[str, models.ManyToManyField]:
    columns = {path: model._meta.get_field(path) for path in paths if "__" not in path}
    return {path: column for path, column in columns.items() if column.many_to_many}


def standing(
    table: Table, paths: tuple[str, ...], pks: Collection[int] | None = None
) -> tuple[dict[Key, int], dict[Key, Facts]]:
    """Primary keys and facts of the rows that the register holds, or of those of them, by key."""
    many = _many_columns(table.model, paths)
    single = [path for path in dict.fromkeys((*table.key, *paths)) if path not in many]
    rows = table.model.objects.all() if pks is None else table.model.objects.filter(pk__in=pks)
    keys, facts = {}, {}
    for pk, *row in rows.order_by("pk").values_list("pk", *single):
        known = dict(zip(single, row, strict=True))
        key = tuple([known[path] for path in table.key])
        keys[key], facts[key] = pk, known
    for path in many:
        lists = lists_of(table.model, path, list(keys.values()))
        for key, pk in keys.items():
            facts[key][path] = lists[pk]
    return keys, facts


def key_of(model: Model, facts: Facts) -> Key | None:
    """What names the row; None where a part of it could not be read."""
    try:
        return tuple([facts[path] for path in TABLES[model].key])
    except KeyError:
        return None


def _differing(facts: Facts, held: Facts) -> tuple[str, ...]:
    return tuple(
        [
            path
            for path, fact in facts.items()
            if (fact != held[path] or type(fact) is Decimal) and not same(fact, held[path])
        ]
    )


def _nothing_there(model: type[models.Model], row: Row, path: str, other: type[models.Model], key: Key) -> Problem:
    named = " ".join(str(part) for part in key if not is_blank(part))
    return Problem(
        f"There is no {other._meta.verbose_name} “{named}”, neither in this workbook nor in the register. "
        "Add it, or correct the name here.",
        model,
        row.number,
        path,
    )


def _of_one_row(model: type[models.Model], row: Row) -> Iterator[Problem]:
    """What a row says that cannot be, whatever the others say: the constraints of the table, in words."""
    facts = row.facts
    for prefix in ("range", "limits"):
        low, high = facts.get(f"{prefix}_low"), facts.get(f"{prefix}_high")
        if f"{prefix}_low" not in facts or f"{prefix}_high" not in facts:
            continue
        if (low is None) != (high is None):
            missing = f"{prefix}_low" if low is None else f"{prefix}_high"
            yield Problem("A range has two ends: fill in the other one too.", model, row.number, missing)
        elif low is not None and low >= high:
            yield Problem(
                f"A range runs from its low end to its high end, and {low} is not below {high}. Correct one of them; "
                "a signal that falls as the value rises is marked as reversed instead.",
                model,
                row.number,
                f"{prefix}_high",
            )
        elif low is not None and is_blank(facts.get(f"{prefix}_unit", "?")):
            yield Problem("The range has no unit. Fill it in.", model, row.number, f"{prefix}_unit")
    if model is PlannedMovement and facts.get("moved", 0) > facts.get("quantity", facts.get("moved", 0)):
        yield Problem("More cannot have moved than was planned. Correct one.", model, row.number, "moved")
    start, end = facts.get("from_date"), facts.get("to_date")
    if start and end and end < start:
        yield Problem(f"It came out on {end}, before it went in on {start}. Correct one.", model, row.number, "to_date")
    if model is BoardFamily and "," in facts.get("name", ""):
        yield Problem("Bays list families parted by commas. Name it without one.", model, row.number, "name")
    if model is CatalogueModel and "kind" in facts and "family__name" in facts:
        is_board = facts["kind"] == ModelKind.OPTION_BOARD
        if is_board and is_blank(facts["family__name"]):
            yield Problem("An option board needs a board family. Fill it in.", model, row.number, "family__name")
        elif not is_board and not is_blank(facts["family__name"]):
            message = f"A {facts['kind']} has no board family. Clear it, or make the kind “option board”."
            yield Problem(message, model, row.number, "family__name")
