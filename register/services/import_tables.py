"""The tables that an import writes: what names their rows, what they refer to, and which loops hang on them."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from django.db import models

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
)


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
