"""Write an invented plant into an empty register, past the ORM: a hundred thousand loops in minutes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from itertools import islice, pairwise
from typing import Any

from django.db import models as django_models
from django.db import transaction
from msgspec.structs import replace

from register import models
from register.calc.calibration import due_on
from register.models import SettingsKind, User
from register.plant import codec, values
from register.plant.diff import changes
from register.plant.invented import Plant, Use
from register.plant.typicals import AREA, Typical
from register.plant.words import AssetState
from register.services.bulk import analyze, insert, number_on, prepared
from register.services.permissions import May, require
from register.services.recording import Refused, next_revision

Table = type[django_models.Model]

# In the order in which they are written: what a row refers to stands before it.
OF_LOOPS: tuple[Table, ...] = (
    models.Loop, models.Tag, models.Port, models.Settings, models.Alarm, models.Cable, models.Link, models.Core,
    models.Asset, models.Installation, models.BoardFitting, models.Calibration, models.Revision,
)  # fmt: skip
COLUMNS = {table: tuple(table._meta.concrete_fields) for table in OF_LOOPS}
USES = 500
"""Uses of designs that are written together."""


def make_plant(plant: Plant, *, by: User) -> Iterator[int]:
    """Write the plant in one transaction; yields how many of its loops are written. Nothing is checked yet.

    Raises Refused where the register holds loops already.
    """
    require(by, May.IMPORT)
    with transaction.atomic():
        if any(table.objects.exists() for table in (models.Loop, models.CatalogueModel, models.Area)):
            raise Refused("The register holds a plant already: make an invented one in an empty database.")
        catalogue = _catalogue(plant)
        areas = _areas(plant)
        forms = {id(design): _Form(design, catalogue) for design in plant.designs}
        keys = {table: (table.objects.aggregate(last=django_models.Max("pk"))["last"] or 0) + 1 for table in OF_LOOPS}
        done, uses = 0, plant.uses()
        while batch := list(islice(uses, USES)):
            rows = defaultdict(list)
            for use in batch:
                forms[id(use.typical)].write(use, areas[use.area], by, keys, rows)
            for table in OF_LOOPS:
                insert(table, COLUMNS[table], rows[table])
            done += sum(len(use.numbers) for use in batch)
            yield done
        number_on(OF_LOOPS)
    analyze()


def _areas(plant: Plant) -> dict[str, int]:
    made = {}
    for path in plant.areas:
        above, _, name = path.rpartition(" / ")
        code = "".join(part[0] + part.partition(" ")[2] for part in path.split(" / ")[1:]) or name.upper()
        made[path] = models.Area.objects.create(code=code, name=name, path=path, parent_id=made.get(above)).pk
    return made


# The catalogue and the store, row by row: some hundreds


def _catalogue(plant: Plant) -> dict[str, int]:
    """The key of each catalogue model by maker and name, its stock written beside it."""
    families = {
        family: models.BoardFamily.objects.create(name=family)
        for model in plant.models
        for family in (model.family, *(family for bay in model.bays for family in bay.takes))
        if family and not models.BoardFamily.objects.filter(name=family).exists()
    }
    keys = {}
    for model in plant.models:
        row = models.CatalogueModel.objects.create(
            family=families.get(model.family),
            **_plain(replace(model, family=""), models.CatalogueModel),
            **_range("limits", model.range_limits),
        )
        keys[str(model)] = row.pk
        for port in model.ports:
            of_model = models.ModelPort.objects.create(model=row, **_plain(port, models.ModelPort))
            of_model.signals.bulk_create(
                models.ModelSignal(port=of_model, signal=one.signal, **_range("limits", one.limits))
                for one in port.signals
            )
        for bay in model.bays:
            models.Bay.objects.create(model=row, name=bay.name).takes.set(families[name] for name in bay.takes)
    lines, items = [], []
    for stock in plant.stock():
        key = keys[str(stock.model)]
        lines.append(
            models.StockLine(model_id=key, store_place=stock.place, quantity=stock.quantity, minimum=stock.minimum)
        )
        items += (
            models.Asset(code=serial, serial=serial, model_id=key, state=AssetState.IN_STORE, store_place=stock.place)
            for serial in stock.serials
        )
    models.StockLine.objects.bulk_create(lines)
    models.Asset.objects.bulk_create(items)
    return keys


def _plain(value: values.Value, table: Table) -> dict[str, Any]:
    """The fields of a value that are plain columns of a table, as the table holds them."""
    names = {column.name for column in table._meta.concrete_fields if not column.is_relation}
    facts = {name: getattr(value, name) for name in value.__struct_fields__ if name in names}
    facts = {name: ",".join(fact) if isinstance(fact, tuple) else fact for name, fact in facts.items()}
    return {name: fact for name, fact in facts.items() if fact is not None}


def _range(prefix: str, span: values.Range | None) -> dict[str, Any]:
    return (
        {}
        if span is None
        else {f"{prefix}_{part}": getattr(span, part) for part in ("low", "high", "unit", "reference")}
    )


# Loops: each design becomes rows once, and a use only puts its numbers and keys into them


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of a design: its values, and where a use puts keys (of which table, how many rows on) and its names."""

    facts: list[Any]
    keys: tuple[tuple[int, Table, int], ...]
    named: tuple[tuple[int, str], ...]
    area: int | None


@dataclass
class _Form:
    """The rows of a design, and its revisions as they read before a use puts its numbers in."""

    design: Typical
    catalogue: dict[str, int]
    rows: dict[Table, list[_Row]] = field(default_factory=lambda: defaultdict(list))
    places: dict[tuple[Table, str], int] = field(default_factory=dict)

    def __post_init__(self):
        for place, loop in enumerate(self.design.group):
            self._add_loop(loop, place)
        for link in dict.fromkeys(link for loop in self.design.group for link in loop.links):
            self._add_link(link)
        self.recorded = [self._recorded(place) for place in range(len(self.design.group))]

    def write(self, use: Use, area: int, by: User, keys: dict[Table, int], rows: dict[Table, list]) -> None:
        """Add the rows of a use, and move the next key of each table on."""
        first = dict(keys)
        for table, of_table in self.rows.items():
            made, key = rows[table], first[table]
            for one in of_table:
                row = one.facts.copy()
                row[0] = key
                key += 1
                for at, other, on in one.keys:
                    row[at] = first[other] + on
                for at, text in one.named:
                    row[at] = use.named(text)
                if one.area is not None:
                    row[one.area] = area
                made.append(row)
            keys[table] = key
        for place, steps in enumerate(self.recorded):
            previous = None
            for on, reason, snapshot, said in steps:
                previous = next_revision(
                    first[models.Loop] + place,
                    use.named(snapshot).encode(),
                    previous,
                    [use.named(change) for change in said],
                    by=by,
                    reason=reason,
                    work_order="",
                    at=datetime.combine(on, time(), UTC) + timedelta(minutes=use.minute),
                )
                previous.pk = keys[models.Revision]
                keys[models.Revision] += 1
                rows[models.Revision].append(prepared(previous, COLUMNS[models.Revision]))

    def _recorded(self, place: int) -> list[tuple]:
        """When, why and what was recorded of a loop at each step that changed what its sheet prints."""
        loops = [step.group[place] for step in self.design.steps]
        first = self.design.steps[0]
        made = [(first.on, first.reason, codec.encode(loops[0]).decode(), [])]
        for (old, new), step in zip(pairwise(loops), self.design.steps[1:], strict=True):
            if said := [str(change) for change in changes(old, new)]:
                made.append((step.on, step.reason, codec.encode(new).decode(), said))
        return made

    def _add(self, row: django_models.Model, name: str = "", **keys: tuple[Table, int]) -> int:
        """Keep a row; ``keys`` tells which rows of the same use its foreign keys refer to. Gives its place."""
        table = type(row)
        columns = COLUMNS[table]
        facts = list(prepared(row, columns))
        at = {column.name: place for place, column in enumerate(columns)}
        self.rows[table].append(
            _Row(
                facts,
                tuple((at[key], *refers) for key, refers in keys.items()),
                tuple((place, fact) for place, fact in enumerate(facts) if _is_named(fact, self.design.marks)),
                at["area"] if table is models.Loop else None,
            )
        )
        place = len(self.rows[table]) - 1
        self.places[table, name] = place
        return place

    def _add_loop(self, loop: values.Loop, place: int) -> None:
        self._add(models.Loop(revision=len(self._recorded(place)), area_id=0, **_plain(loop, models.Loop)))
        for tag in loop.tags:
            self._add_tag(tag, place)

    def _add_tag(self, tag: values.Tag, loop: int) -> None:
        due = due_on(tag.calibration.on, tag.calibration_interval_months) if tag.calibration else None
        specified = self.catalogue[str(tag.specified)]
        row = models.Tag(specified_id=specified, calibration_due_on=due, **_plain(tag, models.Tag))
        mine = (models.Tag, self._add(row, tag.name, loop=(models.Loop, loop)))
        for port in tag.ports:
            self._add(
                models.Port(**_plain(port, models.Port), **_range("range", port.range)),
                f"{tag.name} {port.name}",
                tag=mine,
            )
        for alarm in tag.alarms:
            output = (models.Port, self.places[models.Port, f"{tag.name} {alarm.output}"])
            self._add(models.Alarm(**_plain(alarm, models.Alarm)), tag=mine, output=output)
        for kind, settings in ((SettingsKind.REQUIRED, tag.settings), (SettingsKind.AS_LEFT, tag.as_left)):
            if settings:
                line = settings.serial
                serial = {f"serial_{name}": getattr(line, name) for name in line.__struct_fields__} if line else {}
                facts = serial | _plain(settings, models.Settings) | _range("range", settings.range)
                self._add(models.Settings(kind=kind, **facts), tag=mine)
        for calibration in self._over_time(tag.name, lambda tag: tag.calibration):
            facts = _plain(calibration, models.Calibration) | _range("range", calibration.range)
            self._add(models.Calibration(**facts), tag=mine)
        self._add_assets(self._over_time(tag.name, lambda tag: tag.asset), mine)

    def _over_time(self, name: str, part) -> list[Any]:
        """What a part of a tag was at each step, once each."""
        tags = (tag for step in self.design.steps for loop in step.group for tag in loop.tags if tag.name == name)
        return [one for one in dict.fromkeys(map(part, tags)) if one]

    def _add_assets(self, stood: Sequence[values.Asset], tag: tuple[Table, int]) -> None:
        """What stood at a tag one after another; only the last is in service."""
        for asset, after in zip(stood, [*stood[1:], None], strict=True):
            state = asset.state if after is None else AssetState.SCRAPPED
            key = (
                models.Asset,
                self._add(
                    models.Asset(
                        code=asset.code, serial=asset.serial, model_id=self.catalogue[str(asset.model)], state=state
                    )
                ),
            )
            self._add(
                models.Installation(
                    from_date=asset.installed_on,
                    to_date=after and after.installed_on,
                    reason_in="Replaced" if asset is not stood[0] else "Commissioned",
                    reason_out="Replaced" if after else "",
                ),
                asset=key,
                tag=tag,
            )
            for board in asset.boards:
                model = self.catalogue[str(board.model)]
                item = models.Asset(
                    code=f"B{board.serial}", serial=board.serial, model_id=model, state=AssetState.IN_SERVICE
                )
                fitting = models.BoardFitting(bay=board.bay, model_id=model, from_date=asset.installed_on)
                self._add(fitting, controller=key, board=(models.Asset, self._add(item)))

    def _add_link(self, link: values.Link) -> None:
        mine = self._add(
            models.Link(**_plain(link, models.Link)),
            source=(models.Port, self.places[models.Port, f"{link.source_tag} {link.source_port}"]),
            target=(models.Port, self.places[models.Port, f"{link.target_tag} {link.target_port}"]),
        )
        for cable in link.cables:
            self._add(models.Cable(**_plain(cable, models.Cable)), cable.name)
        for sequence, core in enumerate(link.cores):
            self._add(
                models.Core(sequence=sequence, **_plain(core, models.Core)),
                link=(models.Link, mine),
                cable=(models.Cable, self.places[models.Cable, core.cable.name]),
            )


def _is_named(fact: Any, marks: str) -> bool:
    return isinstance(fact, str) and any(mark in fact for mark in (*marks, AREA))
