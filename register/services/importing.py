"""Bring rows of many tables into the register: all of them or none, by the names that people know things by."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db import IntegrityError, models, transaction
from django.utils import timezone

from register.models import (
    Alarm,
    Area,
    Asset,
    Bay,
    BoardFamily,
    BoardFitting,
    Cable,
    Calibration,
    CatalogueModel,
    Core,
    Installation,
    Link,
    Loop,
    ModelPort,
    ModelSignal,
    PlannedMovement,
    PlantSettings,
    Port,
    Settings,
    StockLine,
    Tag,
    User,
)
from register.plant.words import AssetState, Direction, ModelKind
from register.services import recording, stock
from register.services.catalogue import note_changes, stated
from register.services.permissions import May, require


@dataclass(frozen=True)
class Unique:
    """Columns that no two rows share besides their key; with ``until``, no two rows whose date there is open."""

    paths: tuple[str, ...]
    says: str
    until: str = ""


@dataclass(frozen=True)
class Table:
    """How a table takes part in an import: what names its rows, and how loops depend on it (lookups from its rows).

    Rows refer to rows of other tables by their keys, as lookup paths: ``tag__name``. ``borrowed`` names the parts of
    such a key that stand in another column of the row.
    """

    model: type[models.Model]
    key: tuple[str, ...]
    loops: tuple[str, ...] = ()
    unique: tuple[Unique, ...] = ()
    borrowed: dict[str, str] = field(default_factory=dict)

    def references(self, paths: Collection[str]) -> dict[models.ForeignKey, dict[str, str]]:
        """For each foreign key among the paths: the parts of the other table's key, and the path that holds each."""
        wanted = {path.partition("__")[0] for path in paths if "__" in path}
        found = {}
        for one in self.model._meta.concrete_fields:
            if one.is_relation and one.name in wanted:
                parts = TABLES[one.related_model].key
                found[one] = {part: self.borrowed.get(f"{one.name}__{part}", f"{one.name}__{part}") for part in parts}
        return found


OF_MODEL = ("specified_for__loop", "assets__installations__tag__loop", "fittings__controller__installations__tag__loop")
OF_LINK = ("source__tag__loop", "target__tag__loop")


def _through(relation: str, paths: Iterable[str]) -> tuple[str, ...]:
    return tuple(f"{relation}__{path}" for path in paths)


# In the order in which they are written: what a row refers to stands before it.
TABLES: dict[type[models.Model], Table] = {
    table.model: table
    for table in (
        Table(PlantSettings, ()),
        Table(BoardFamily, ("name",), (*_through("boards", OF_MODEL), *_through("bays__model", OF_MODEL))),
        Table(CatalogueModel, ("maker", "name"), OF_MODEL),
        Table(ModelPort, ("model__maker", "model__name", "name", "direction"), _through("model", OF_MODEL)),
        Table(
            ModelSignal,
            ("port__model__maker", "port__model__name", "port__name", "port__direction", "signal"),
            _through("port__model", OF_MODEL),
        ),
        Table(Bay, ("model__maker", "model__name", "name"), _through("model", OF_MODEL)),
        Table(
            Area,
            ("code",),
            ("loops",),
            unique=(Unique(("parent__code", "name"), "another area there has this name. Correct one of them"),),
        ),
        Table(Loop, ("number",), ("pk",)),
        Table(Tag, ("name",), ("loop",)),
        Table(Port, ("tag__name", "name"), ("tag__loop",)),
        Table(Settings, ("tag__name", "kind"), ("tag__loop",)),
        Table(
            Alarm,
            ("tag__name", "name"),
            ("tag__loop",),
            borrowed={"output__tag__name": "tag__name"},
        ),
        Table(Cable, ("name",), _through("core_rows__link", OF_LINK)),
        Table(Link, ("target__tag__name", "target__name"), OF_LINK),
        Table(Core, ("link__target__tag__name", "link__target__name", "sequence"), _through("link", OF_LINK)),
        Table(
            Asset,
            ("code",),
            ("installations__tag__loop", "fitted_in__controller__installations__tag__loop"),
            unique=(
                Unique(
                    ("model__maker", "model__name", "serial"),
                    "another asset of this model has this serial number. Correct one of them",
                ),
            ),
        ),
        Table(
            Installation,
            ("asset__code", "tag__name", "from_date"),
            ("tag__loop",),
            unique=(
                Unique(
                    ("asset__code",),
                    "the asset is already at another tag and was not taken out. Fill in when it came out",
                    until="to_date",
                ),
                Unique(
                    ("tag__name",),
                    "the tag already holds another asset that was not taken out. Fill in when it came out",
                    until="to_date",
                ),
            ),
        ),
        Table(
            BoardFitting,
            ("controller__code", "bay", "from_date"),
            ("controller__installations__tag__loop",),
            unique=(
                Unique(
                    ("controller__code", "bay"),
                    "the bay already holds a board that was not taken out. Fill in when it came out",
                    "to_date",
                ),
                Unique(
                    ("board__code",),
                    "the board is already in another bay and was not taken out. Fill in when it came out",
                    "to_date",
                ),
            ),
        ),
        Table(Calibration, ("tag__name", "on"), ("tag__loop",)),
        Table(StockLine, ("model__maker", "model__name", "store_place"), _through("model", OF_MODEL)),
        Table(PlannedMovement, ("model__maker", "model__name", "kind", "reference")),
    )
}


@dataclass(frozen=True)
class Row:
    """One row to import: its number in its sheet, and its facts by lookup path.

    A fact that could not be read is left out: nothing more is said of it, and nothing may be imported.
    """

    number: int
    facts: dict[str, Any]


@dataclass(frozen=True)
class Sheet:
    """The rows of one table, which all have the same columns, named by lookup path."""

    paths: tuple[str, ...]
    rows: list[Row]


@dataclass(frozen=True)
class Problem:
    """What keeps a row out; the message says what is wrong and how to put it right. No row: the import as a whole."""

    message: str
    model: type[models.Model] | None = None
    row: int = 0
    path: str = ""


class CannotImport(Exception):
    """Nothing was imported. Carries every problem that was found."""

    def __init__(self, problems: list[Problem]):
        self.problems = problems
        super().__init__("Nothing was imported. " + " ".join(problem.message for problem in problems[:3]))


@dataclass(frozen=True)
class Counts:
    added: int
    changed: int
    unchanged: int


def import_register(
    sheets: dict[type[models.Model], Sheet], *, by: User, reason: str, at: datetime | None = None
) -> dict[type[models.Model], Counts]:
    """Add the rows that are new and change those that differ; what the register holds besides stays as it is.

    Revisions and findings of the loops touched follow in the same transaction. Raises NotAllowed, or CannotImport
    with every problem.
    """
    require(by, May.IMPORT)
    at = at or timezone.now()
    try:
        with transaction.atomic():
            list(Loop.objects.select_for_update().order_by("pk").values_list("pk"))  # editors wait for the import
            plan = _Plan(sheets)
            if found := plan.problems():
                raise CannotImport(found)
            touched = plan.loops_touched()
            models = stated()
            counts = plan.write()
            note_changes(models, stated(), by=by, reason=reason, at=at)
            stock.note_counts(plan.lines_counted(), plan.items_counted(), at=at, by=by, reason=reason)
            recording.record_with_neighbours(touched | plan.loops_touched(), by=by, reason=reason, at=at)
    except IntegrityError as error:
        message = f"The database refused the rows together, and none was kept ({error}). Import the changes one by one."
        raise CannotImport([Problem(message)]) from error
    return counts


def problems_of(sheets: dict[type[models.Model], Sheet], unread: Collection[type[models.Model]] = ()) -> list[Problem]:
    """Everything that would keep the rows out, seen together with what the register holds. Writes nothing.

    Nothing is said of references to the tables that are ``unread``: what they would hold is not known.
    """
    return _Plan(sheets, unread).problems()


Key = tuple[Any, ...]
Facts = dict[str, Any]


def _is_blank(fact: Any) -> bool:
    return fact is None or fact == "" or fact == ()


def _same(one: Any, other: Any) -> bool:
    """Numbers are compared as typed: 10.5 is not 10.50."""
    if isinstance(one, Decimal) and isinstance(other, Decimal):
        return format(one, "f") == format(other, "f")
    return one == other or (_is_blank(one) and _is_blank(other))


class _Plan:
    """The rows beside what the register holds: what is new, what differs, what cannot be."""

    def __init__(self, sheets: dict[type[models.Model], Sheet], unread: Collection[type[models.Model]] = ()):
        self.unread = unread
        self.sheets = {model: sheets.get(model, Sheet(table.key, [])) for model, table in TABLES.items()}
        self.pks: dict[type[models.Model], dict[Key, int]] = {}
        self.standing: dict[type[models.Model], dict[Key, Facts]] = {}
        self.incoming: dict[type[models.Model], dict[Key, Row]] = {}
        for model, sheet in self.sheets.items():
            self.pks[model], self.standing[model] = standing(TABLES[model], sheet.paths)
            self.incoming[model] = {}
            for row in sheet.rows:
                if (key := _key(TABLES[model], row.facts)) is not None:
                    self.incoming[model].setdefault(key, row)
        self.written = {model: self._to_change(model) for model in TABLES}

    def _to_change(self, model: type[models.Model]) -> set[int]:
        """Primary keys of the rows whose facts will differ."""
        return {self.pks[model][key] for key, row in self.incoming[model].items() if self._differs(model, key, row)}

    def _differs(self, model: type[models.Model], key: Key, row: Row) -> bool:
        standing = self.standing[model].get(key)
        return standing is not None and any(not _same(fact, standing[path]) for path, fact in row.facts.items())

    def merged(self, model: type[models.Model]) -> dict[Key, Facts]:
        """The table as it would be, in the columns that the rows have."""
        standing = self.standing[model]
        return standing | {key: standing.get(key, {}) | row.facts for key, row in self.incoming[model].items()}

    # What cannot be

    def problems(self) -> list[Problem]:
        found = []
        for model, table in TABLES.items():
            found += self._doubles(table)
            found += self._dangling(table)
            found += self._clashes(table)
            for row in self.sheets[model].rows:
                found += _of_one_row(model, row)
        found += self._area_rings()
        found += self._wrong_way_links()
        found += self._boards_of_another_model()
        order = {model: position for position, model in enumerate(TABLES)}
        return sorted(found, key=lambda problem: (order[problem.model], problem.row))

    def _doubles(self, table: Table) -> Iterator[Problem]:
        """Two rows with one key."""
        for row in self.sheets[table.model].rows:
            key = _key(table, row.facts)
            first = self.incoming[table.model].get(key)
            if first is not None and first is not row:
                named = " ".join(str(part) for part in key) or "The one row of this sheet"
                yield Problem(
                    f"{named} stands in row {first.number} already. Each is named once: correct or remove one of them.",
                    table.model,
                    row.number,
                    table.key[-1] if table.key else "",
                )

    def _dangling(self, table: Table) -> Iterator[Problem]:
        """A row that refers to something that is neither among the rows nor in the register."""
        sheet = self.sheets[table.model]
        for fk, parts in table.references(sheet.paths).items():
            if fk.related_model in self.unread:
                continue
            there = self.merged(fk.related_model)
            own = [path for path in parts.values() if path.startswith(f"{fk.name}__")]
            for row in sheet.rows:
                if not all(path in row.facts for path in parts.values()):
                    continue
                if all(_is_blank(row.facts[path]) for path in own):
                    continue
                key = tuple(row.facts[path] for path in parts.values())
                if key not in there:
                    yield _nothing_there(table.model, row, own[-1], fk.related_model, key)
        for path in sheet.paths:
            if "__" in path or not (many := table.model._meta.get_field(path)).many_to_many:
                continue
            if many.related_model in self.unread:
                continue
            there = self.merged(many.related_model)
            for row in sheet.rows:
                for name in row.facts.get(path, ()):
                    if (name,) not in there:
                        yield _nothing_there(table.model, row, path, many.related_model, (name,))

    def _clashes(self, table: Table) -> Iterator[Problem]:
        """Two rows with different keys that share what only one may have."""
        for unique in table.unique:
            sharing = defaultdict(list)
            for key, facts in self.merged(table.model).items():
                values = tuple(facts.get(path) for path in unique.paths)
                if not any(map(_is_blank, values)) and not (unique.until and facts.get(unique.until)):
                    sharing[values].append(key)
            for values, keys in sharing.items():
                rows = [self.incoming[table.model][key] for key in keys if key in self.incoming[table.model]]
                if len(keys) > 1:
                    for row in rows[1:] or rows:
                        named = " ".join(map(str, values))
                        yield Problem(f"{named}: {unique.says}.", table.model, row.number, unique.paths[-1])

    def _area_rings(self) -> Iterator[Problem]:
        for (code,), row in self.incoming[Area].items():
            if self._area_names(code) is None:
                yield Problem(
                    "This area lies within itself, by way of the areas above it. Correct the area above.",
                    Area,
                    row.number,
                    "parent__code",
                )

    def _area_names(self, code: str) -> list[str] | None:
        """Names from the root down to an area; None where the areas above it form a ring."""
        names, seen = [], set()
        while code:
            if code in seen:
                return None
            seen.add(code)
            area = self._areas.get((code,), {})
            names.insert(0, area.get("name", ""))
            code = area.get("parent__code")
        return names

    @cached_property
    def _areas(self) -> dict[Key, Facts]:
        """Every area with its name and the one around it, whichever columns the rows have."""
        _pks, areas = standing(TABLES[Area], ("name", "parent__code"))
        return areas | {key: areas.get(key, {}) | row.facts for key, row in self.incoming[Area].items()}

    def _wrong_way_links(self) -> Iterator[Problem]:
        """A link runs from an output to an input."""
        ports = self.merged(Port)
        for row in self.sheets[Link].rows:
            for end, right in (("source", Direction.OUT), ("target", Direction.IN)):
                port = ports.get((row.facts.get(f"{end}__tag__name"), row.facts.get(f"{end}__name")), {})
                if port.get("direction", right) != right:
                    yield Problem(
                        f"{row.facts[f'{end}__tag__name']} {row.facts[f'{end}__name']} is an {port['direction']}put; "
                        "a link runs from an output to an input. Turn the link round, or correct the port's direction.",
                        Link,
                        row.number,
                        f"{end}__name",
                    )

    def _boards_of_another_model(self) -> Iterator[Problem]:
        assets = self.merged(Asset)
        for row in self.sheets[BoardFitting].rows:
            board = assets.get((row.facts.get("board__code"),))
            if board is None:
                continue
            recorded = (board.get("model__maker"), board.get("model__name"))
            if recorded != (row.facts.get("model__maker"), row.facts.get("model__name")):
                yield Problem(
                    f"The asset {row.facts['board__code']} is a {' '.join(map(str, recorded))}. "
                    "Correct the asset or the board's model.",
                    BoardFitting,
                    row.number,
                    "board__code",
                )

    # Writing

    def loops_touched(self) -> set[int]:
        """Loops that hang on a row that changes or has changed, as the tables stand now."""
        touched = set()
        for model, pks in self.written.items():
            for path in TABLES[model].loops:
                for chunk in recording.chunks(pks):
                    touched.update(model.objects.order_by().filter(pk__in=chunk).values_list(path, flat=True))
        return touched - {None}

    def write(self) -> dict[type[models.Model], Counts]:
        return {model: self._write(table) for model, table in TABLES.items() if model in self.sheets}

    def _write(self, table: Table) -> Counts:
        model, sheet = table.model, self.sheets[table.model]
        references = table.references(sheet.paths)
        within = {fk: parts for fk, parts in references.items() if fk.related_model is model}
        abroad = {fk: parts for fk, parts in references.items() if fk not in within}
        plain = [path for path in sheet.paths if "__" not in path and not model._meta.get_field(path).many_to_many]
        new, changed = {}, {}
        for key, row in self.incoming[model].items():
            if key in self.pks[model] and not self._differs(model, key, row):
                continue
            instance = model(pk=self.pks[model].get(key), **{path: row.facts[path] for path in plain})
            for fk, parts in abroad.items():
                setattr(instance, fk.attname, self._pk(fk, parts, row.facts))
            if model is Area:
                instance.path = self._area_path(row.facts["code"])
            (changed if key in self.pks[model] else new)[key] = instance
        if columns := [*plain, *(fk.name for fk in abroad)]:  # first what makes room for the new
            model.objects.bulk_update(changed.values(), columns, batch_size=500)
        model.objects.bulk_create(new.values(), batch_size=recording.CHUNK)
        self.pks[model] |= {key: instance.pk for key, instance in new.items()}
        touched = new | changed
        for fk, parts in within.items():
            for key, instance in touched.items():
                setattr(instance, fk.attname, self._pk(fk, parts, self.incoming[model][key].facts))
            model.objects.bulk_update(touched.values(), [fk.name], batch_size=500)
        self._write_many(model, sheet, touched)
        self.written[model] = {instance.pk for instance in touched.values()}
        if model is Area:
            self.written[model] |= self._keep_area_paths()
        return Counts(len(new), len(changed), len(self.incoming[model]) - len(touched))

    def lines_counted(self) -> Iterator[tuple[int, int, int]]:
        """Of each stock line among the rows: primary key, and the figure before and after. Once they are written."""
        for key, row in self.incoming[StockLine].items():
            if "quantity" in row.facts:
                before = self.standing[StockLine].get(key, {}).get("quantity", 0)
                yield self.pks[StockLine][key], before, row.facts["quantity"]

    def items_counted(self) -> Iterator[tuple[int, int]]:
        """Of each asset that the rows bring into the store or out of it: primary key and change. Once written."""
        for key, row in self.incoming[Asset].items():
            standing = self.standing[Asset].get(key, {}).get("state")
            change = (row.facts.get("state", standing) == AssetState.IN_STORE) - (standing == AssetState.IN_STORE)
            if change:
                yield self.pks[Asset][key], change

    def _pk(self, fk: models.ForeignKey, parts: dict[str, str], facts: Facts) -> int | None:
        return self.pks[fk.related_model].get(tuple(facts[path] for path in parts.values()))

    def _write_many(self, model: type[models.Model], sheet: Sheet, touched: dict[Key, models.Model]) -> None:
        for path in sheet.paths:
            if "__" in path or not model._meta.get_field(path).many_to_many:
                continue
            many = model._meta.get_field(path)
            through = many.remote_field.through
            own, other = many.m2m_field_name(), many.m2m_reverse_field_name()
            for chunk in recording.chunks(instance.pk for instance in touched.values()):
                through.objects.filter(**{f"{own}__in": chunk}).delete()
            through.objects.bulk_create(
                through(
                    **{
                        f"{own}_id": instance.pk,
                        f"{other}_id": self.pks[many.related_model][(name,)],
                    }
                )
                for key, instance in touched.items()
                for name in self.incoming[model][key].facts[path]
            )

    def _area_path(self, code: str) -> str:
        return " / ".join(self._area_names(code))

    def _keep_area_paths(self) -> set[int]:
        """Areas below a renamed or moved one get their new path, though their own rows stand."""
        moved = [area for area in Area.objects.all() if area.path != self._area_path(area.code)]
        for area in moved:
            area.path = self._area_path(area.code)
        Area.objects.bulk_update(moved, ["path"], batch_size=500)
        return {area.pk for area in moved}


def standing(table: Table, paths: tuple[str, ...]) -> tuple[dict[Key, int], dict[Key, Facts]]:
    """Primary keys and facts of the rows that the register holds, by key."""
    many = [path for path in paths if "__" not in path and table.model._meta.get_field(path).many_to_many]
    single = [path for path in dict.fromkeys((*table.key, *paths)) if path not in many]
    pks, facts = {}, {}
    by_pk = {}
    for pk, *row in table.model.objects.order_by("pk").values_list("pk", *single):
        known = dict(zip(single, row, strict=True)) | dict.fromkeys(many, ())
        key = tuple(known[path] for path in table.key)
        pks[key], facts[key], by_pk[pk] = pk, known, known
    for path in many:
        pairs = table.model.objects.filter(**{f"{path}__isnull": False}).order_by(f"{path}__name")
        for pk, name in pairs.values_list("pk", f"{path}__name"):
            by_pk[pk][path] += (name,)
    return pks, facts


def _key(table: Table, facts: Facts) -> Key | None:
    """What names the row; None where a part of it could not be read."""
    if not all(path in facts for path in table.key):
        return None
    return tuple(facts[path] for path in table.key)


def _nothing_there(model: type[models.Model], row: Row, path: str, other: type[models.Model], key: Key) -> Problem:
    named = " ".join(str(part) for part in key if not _is_blank(part))
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
        elif low is not None and _is_blank(facts.get(f"{prefix}_unit", "?")):
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
        if is_board and _is_blank(facts["family__name"]):
            yield Problem("An option board needs a board family. Fill it in.", model, row.number, "family__name")
        elif not is_board and not _is_blank(facts["family__name"]):
            message = f"A {facts['kind']} has no board family. Clear it, or make the kind “option board”."
            yield Problem(message, model, row.number, "family__name")
