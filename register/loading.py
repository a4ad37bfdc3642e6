"""Tables → Loop values, in a number of queries that depends neither on the loops nor on the plant.

Columns bear the names of the values' fields, so a row becomes a value by leaving out what is not recorded and handing
the rest to msgspec, which turns words into their enumerations and refuses what does not fit.
"""

from __future__ import annotations

import gc
import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

import msgspec
from django.db import connections
from django.db.models import Count, QuerySet, Sum
from msgspec.structs import replace

from register import models
from register.calc.ranges import Range
from register.models import SettingsKind
from register.plant import values
from register.plant.words import AssetState, Location, Purpose


def load_loop(number: str, *, today: date | None = None) -> values.Loop:
    """One loop by its number. Raises Loop.DoesNotExist."""
    pk = models.Loop.objects.values_list("pk", flat=True).get(number=number)
    return load_loops([pk], today=today)[pk]


def load_loops(pks: Collection[int] | None = None, *, today: date | None = None) -> dict[int, values.Loop]:
    """Loops by primary key; None loads every loop in service."""
    if pks is not None and not pks:
        return {}
    with collector_paused():
        return _Loader(pks, today).loops()


def load_models(pks: Collection[int] | None = None) -> dict[int, values.Model]:
    """Catalogue models by primary key; None loads the whole catalogue."""
    return _models(
        models.CatalogueModel.objects.all() if pks is None else models.CatalogueModel.objects.filter(pk__in=pks)
    )


@contextmanager
def collector_paused() -> Iterator[None]:
    """A load makes many objects and no cycle, and so does checking them: pausing the collector halves the time."""
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()


def _columns(value: type[values.Value], table: type) -> tuple[str, ...]:
    """The fields of a value that are plain columns of a table."""
    columns = {field.name for field in table._meta.concrete_fields if not field.is_relation}
    return tuple(name for name in value.__struct_fields__ if name in columns)


def _facts(names: Iterable[str], row: Iterable[Any]) -> dict[str, Any]:
    """A row by name, without what is not recorded."""
    return {name: fact for name, fact in zip(names, row, strict=True) if fact is not None and fact != ""}


def _range(facts: dict[str, Any], prefix: str) -> Range | None:
    """Take a range's columns out of the facts and make one of them."""
    low, high = facts.pop(f"{prefix}_low", None), facts.pop(f"{prefix}_high", None)
    unit, reference = facts.pop(f"{prefix}_unit", ""), facts.pop(f"{prefix}_reference", "")
    return None if low is None else Range(low, high, unit, reference)


def _words(joined: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in joined.split(",") if word.strip())


def _limits(prefix: str) -> tuple[str, ...]:
    return tuple(f"{prefix}_{part}" for part in ("low", "high", "unit", "reference"))


_EX = _columns(values.ExData, models.CatalogueModel)
_MODEL = (*_columns(values.Model, models.CatalogueModel), *_limits("limits"), *_EX, "family__name", "successor__name")
_MODEL_PORT = _columns(values.ModelPort, models.ModelPort)
_MODEL_SIGNAL = ("signal", *_limits("limits"))
_TAG = _columns(values.Tag, models.Tag)
_PORT = (*_columns(values.Port, models.Port), *_limits("range"))
_SETTINGS = (
    *_columns(values.Settings, models.Settings),
    *_limits("range"),
    *(f"serial_{name}" for name in values.SerialLine.__struct_fields__),
)
_ALARM = (*_columns(values.Alarm, models.Alarm), "output__name")
_CABLE = _columns(values.Cable, models.Cable)
_CORE = _columns(values.Core, models.Core)
_LINK = _columns(values.Link, models.Link)
_CALIBRATION = (*_columns(values.Calibration, models.Calibration), *_limits("range"))
_LOOP = _columns(values.Loop, models.Loop)
_SAFETY = _columns(values.SafetyFunction, models.Loop)


def _models(queryset: QuerySet) -> dict[int, values.Model]:
    found = list(queryset.order_by().values_list("pk", *_MODEL))
    pks = [row[0] for row in found] if queryset.query.where else None

    def of_these(table, path: str) -> QuerySet:
        rows = table.objects.order_by("pk")
        return rows if pks is None else rows.filter(**{f"{path}__in": pks})

    signals = defaultdict(list)
    for port, *row in of_these(models.ModelSignal, "port__model").values_list("port_id", *_MODEL_SIGNAL):
        facts = _facts(_MODEL_SIGNAL, row)
        signals[port].append(values.ModelSignal(limits=_range(facts, "limits"), **facts))
    ports = defaultdict(list)
    for pk, model, *row in of_these(models.ModelPort, "model").values_list("pk", "model_id", *_MODEL_PORT):
        facts = _facts(_MODEL_PORT, row)
        facts["purposes"] = _words(facts.get("purposes", ""))
        ports[model].append(msgspec.convert(facts | {"signals": tuple(signals[pk])}, values.ModelPort))
    bays = defaultdict(dict)
    for model, bay, family in of_these(models.Bay, "model").values_list("model_id", "name", "takes__name"):
        bays[model].setdefault(bay, []).append(family)
    return {
        pk: _model(
            _facts(_MODEL, row),
            tuple(ports[pk]),
            tuple(
                values.Bay(name=bay, takes=tuple(sorted(filter(None, families)))) for bay, families in bays[pk].items()
            ),
        )
        for pk, *row in found
    }


def _model(facts: dict[str, Any], ports: tuple, bays: tuple) -> values.Model:
    limits = _range(facts, "limits")
    family, successor = facts.pop("family__name", ""), facts.pop("successor__name", "")
    certified = {name: facts.pop(name) for name in _EX if facts.get(name)}
    ex = msgspec.convert(certified, values.ExData) if certified else None
    facts = {name: fact for name, fact in facts.items() if name not in _EX}
    return msgspec.convert(
        facts
        | {"range_limits": limits, "family": family, "successor": successor, "ex": ex, "ports": ports, "bays": bays},
        values.Model,
    )


class _Scope:
    """The loops that are asked for, as a condition on rows that belong to them.

    Loops of neighbouring keys are asked for as a span, and what else lies in it is passed over: to hand over a thousand
    keys, and those of their tags, would take longer than to read the rows.
    """

    def __init__(self, pks: Collection[int] | None):
        self.pks = None if pks is None else frozenset(pks)
        self.span = self.pks is not None and max(self.pks) - min(self.pks) < 2 * len(self.pks)
        if self.pks is None:
            self.lookups, self.keys = (), ()
        elif self.span:
            self.lookups, self.keys = ("gte", "lte"), (min(self.pks), max(self.pks))
        else:
            self.lookups, self.keys = ("in",), tuple(sorted(self.pks))

    @property
    def is_wide(self) -> bool:
        """Whether so much is asked for that all of a small table is read rather than what is needed of it."""
        return self.pks is None or len(self.pks) > 100

    def of(self, rows: QuerySet, path: str, **also: Any) -> QuerySet:
        """Rows whose loop, at the path, is in scope, and for which the other conditions hold too."""
        limits = self.keys if self.span else (self.keys,)
        mine = {f"{path}__{lookup}": limit for lookup, limit in zip(self.lookups, limits, strict=False)}
        return rows.filter(**mine, **also)

    def covers(self, loop: int) -> bool:
        """Whether :meth:`of` gives the rows of a loop."""
        return self.pks is None or loop in self.pks or (self.span and self.keys[0] <= loop <= self.keys[1])

    def sql(self, column: str) -> tuple[str, tuple[int, ...]]:
        """The condition on a column that holds a loop's key, and its parameters."""
        if self.pks is None:
            return f"{column} IS NOT NULL", ()
        if self.span:
            return f"{column} BETWEEN %s AND %s", self.keys
        return f"{column} IN ({', '.join(['%s'] * len(self.keys))})", self.keys


class _Loader:
    """One load: what is asked for, and the rows read on the way."""

    def __init__(self, pks: Collection[int] | None, today: date | None):
        self.scope = _Scope(pks)
        self.today = today
        self.claims: list[tuple[str, str, str]] = []  # cable, core and signal, wherever a link runs

    def loops(self) -> dict[int, values.Loop]:
        loop_rows = self._loop_rows()
        links, ends = self._links()
        tags, tag_loops = self._tags(ends)
        by_loop = defaultdict(list)
        for pk, loop in tag_loops.items():
            by_loop[loop].append(pk)
        links_by_loop = defaultdict(dict)
        neighbours = defaultdict(dict)
        for pk, link in links.items():
            source, target = ends[pk]
            for near, far in ((source, target), (target, source)):
                loop = tag_loops[near]
                if loop not in loop_rows:
                    continue
                links_by_loop[loop][pk] = link
                if tag_loops[far] != loop:
                    neighbours[loop][far] = tags[far].as_neighbour()
        made = {}
        for pk, facts in loop_rows.items():
            made[pk] = msgspec.convert(
                facts
                | {
                    "tags": tuple(tags[tag] for tag in by_loop[pk]),
                    "links": tuple(links_by_loop[pk].values()),
                    "neighbours": tuple(sorted(neighbours[pk].values(), key=lambda tag: tag.name)),
                },
                values.Loop,
            )
        return self._surrounded(made)

    def _loop_rows(self) -> dict[int, dict[str, Any]]:
        rows = models.Loop.objects.order_by("number")
        rows = rows.in_service() if self.scope.pks is None else self.scope.of(rows, "pk")
        made = {}
        for pk, area, *row in rows.values_list("pk", "area__path", *_LOOP, *_SAFETY):
            if self.scope.pks is not None and pk not in self.scope.pks:
                continue
            facts = _facts((*_LOOP, *_SAFETY), row)
            safety = {name: facts.pop(name) for name in _SAFETY if name in facts}
            if safety:
                facts["safety"] = msgspec.convert(safety, values.SafetyFunction)
            made[pk] = facts | {"area": area}
        return made

    def _links(self) -> tuple[dict[int, values.Link], dict[int, tuple[int, int]]]:
        """Links from and to the loops, and the tags at both ends of each."""
        names = (
            "source__tag_id",
            "target__tag_id",
            "source__tag__loop_id",
            "target__tag__loop_id",
            "source__tag__name",
            "source__name",
            "target__tag__name",
            "target__name",
            "source__signal",
        )
        live = models.Link.objects.order_by().filter(
            source__tag__retired_on__isnull=True, target__tag__retired_on__isnull=True
        )
        found = {}
        # From and to are asked for apart: either in one condition would read every link of the plant.
        for end in ("source",) if self.scope.pks is None else ("source", "target"):
            for pk, *row in self.scope.of(live, f"{end}__tag__loop").values_list("pk", *names, *_LINK):
                found[pk] = row
        cores = self._cores([pk for pk, row in found.items() if not self.scope.covers(row[2])])
        links, ends = {}, {}
        for pk, row in sorted(found.items()):
            source, target, _, _, source_tag, source_port, target_tag, target_port, signal, *facts = row
            self.claims += ((core.cable.name, core.core, signal) for core in cores[pk])
            ends[pk] = (source, target)
            links[pk] = values.Link(
                source_tag=source_tag,
                source_port=source_port,
                target_tag=target_tag,
                target_port=target_port,
                cores=tuple(cores[pk]),
                **_facts(_LINK, facts),
            )
        return links, ends

    def _cores(self, from_others: list[int]) -> dict[int, list[values.Core]]:
        """The cores of the links from the loops, and of those links from others."""
        rows = models.Core.objects.order_by("link", "sequence", "pk")
        columns = tuple(f"cable__{name}" for name in _CABLE)
        cables: dict[int, values.Cable] = {}
        cores = defaultdict(list)
        for part in self._both(rows, "link__source__tag__loop", "link", from_others):
            for link, cable, *row in part.values_list("link_id", "cable_id", *_CORE, *columns):
                if cable not in cables:
                    facts = _facts(_CABLE, row[len(_CORE) :])
                    facts["screen_earthed_at"] = _words(facts.get("screen_earthed_at", ""))
                    cables[cable] = msgspec.convert(facts, values.Cable)
                cores[link].append(values.Core(cable=cables[cable], **_facts(_CORE, row[: len(_CORE)])))
        return cores

    def _both(self, rows: QuerySet, path: str, key: str, others: Collection[int], **also: Any) -> Iterator[QuerySet]:
        """Rows of the loops, found by the path to their loop, and those that belong to others, by their keys."""
        yield self.scope.of(rows, path, **also)
        if others:
            yield rows.filter(**{f"{key}__in": others})

    def _tags(self, ends: dict[int, tuple[int, int]]) -> tuple[dict[int, values.Tag], dict[int, int]]:
        """Tags of the loops and at the far ends of their links, and the loop of each."""
        area = ("loop__area__zone", "loop__area__gas_group", "loop__area__ignition_c", "loop__area__ambient_max_c")
        columns = ("pk", "loop_id", "loop__number", "specified_id", *area, *_TAG)
        name_at = columns.index("name")
        live = models.Tag.objects.filter(retired_on__isnull=True).order_by()
        rows = list(self.scope.of(live, "loop").values_list(*columns))
        far: set[int] = set()
        if self.scope.pks is not None:
            far = {tag for pair in ends.values() for tag in pair}.difference(row[0] for row in rows)
            if far:
                rows += live.filter(pk__in=far).values_list(*columns)
        rows.sort(key=lambda row: row[name_at])

        def of_tags(table, *order: str) -> Iterator[QuerySet]:
            return self._both(table.objects.order_by(*order), "tag__loop", "tag", far)

        ports = defaultdict(list)
        as_ports: dict[tuple, values.Port] = {}
        for part in of_tags(models.Port, "pk"):
            for tag, *row in part.values_list("tag_id", *_PORT):
                # Ports are alike by the thousand: each kind is made once.
                if (port := as_ports.get(key := tuple(row))) is None:
                    facts = _facts(_PORT, row)
                    facts["range"] = _range(facts, "range")
                    port = as_ports[key] = msgspec.convert(facts, values.Port)
                ports[tag].append(port)
        alarms = defaultdict(list)
        for part in of_tags(models.Alarm, "pk"):
            for tag, *row in part.values_list("tag_id", *_ALARM):
                facts = _facts(_ALARM, row)
                facts["output"] = facts.pop("output__name", "")
                alarms[tag].append(msgspec.convert(facts, values.Alarm))
        settings = {
            (tag, kind): _settings(_facts(_SETTINGS, row))
            for part in of_tags(models.Settings)
            for tag, kind, *row in part.values_list("tag_id", "kind", *_SETTINGS)
        }
        calibrated = {
            tag: row
            for part in of_tags(models.Calibration, "on", "pk")
            for tag, *row in part.values_list("tag_id", *_CALIBRATION)
        }
        calibrations = {}
        for tag, row in calibrated.items():
            facts = _facts(_CALIBRATION, row)
            facts["range"] = _range(facts, "range")
            calibrations[tag] = msgspec.convert(facts, values.Calibration)
        assets, catalogue = self._assets({row[3] for row in rows if row[3]}, far)

        tags, tag_loops = {}, {}
        for pk, loop, number, specified, zone, gas_group, ignition_c, ambient_c, *row in rows:
            facts = _facts(_TAG, row)
            if facts.get("location") in (Location.FIELD, Location.JUNCTION_BOX):
                around = _facts(
                    ("zone", "gas_group", "ignition_c", "ambient_c"), (zone, gas_group, ignition_c, ambient_c)
                )
                facts = around | facts
            tags[pk] = msgspec.convert(
                facts
                | {
                    "loop": number,
                    "specified": catalogue.get(specified),
                    "asset": assets.get(pk),
                    "settings": settings.get((pk, SettingsKind.REQUIRED)),
                    "as_left": settings.get((pk, SettingsKind.AS_LEFT)),
                    "ports": tuple(ports[pk]),
                    "alarms": tuple(alarms[pk]),
                    "calibration": calibrations.get(pk),
                },
                values.Tag,
            )
            tag_loops[pk] = loop
        return tags, tag_loops

    def _assets(
        self, specified: set[int], far: Collection[int]
    ) -> tuple[dict[int, values.Asset], dict[int, values.Model]]:
        """What is installed at each tag, and the catalogue models that appear."""
        names = ("tag_id", "from_date", "asset_id", "asset__code", "asset__serial", "asset__state", "asset__model_id")
        installed = models.Installation.objects.current().order_by()
        rows = [row for part in self._both(installed, "tag__loop", "tag", far) for row in part.values_list(*names)]
        of_far = [row[2] for row in rows if row[0] in far]
        fitted = models.BoardFitting.objects.current().order_by("bay")
        standing = {"controller__installations__to_date__isnull": True}
        boards = [
            row
            for part in self._both(fitted, "controller__installations__tag__loop", "controller", of_far, **standing)
            for row in part.values_list("controller_id", "bay", "model_id", "board__serial")
        ]
        used = specified | {row[6] for row in rows} | {row[2] for row in boards}
        catalogue = load_models(None if self.scope.is_wide else used)
        fitted_in = defaultdict(list)
        for controller, bay, model, serial in boards:
            fitted_in[controller].append(values.FittedBoard(bay=bay, model=catalogue[model], serial=serial or ""))
        assets = {
            tag: values.Asset(
                code=code,
                serial=serial,
                model=catalogue[model],
                state=AssetState(state),
                installed_on=since,
                boards=tuple(fitted_in[asset]),
            )
            for tag, since, asset, code, serial, state, model in rows
        }
        return assets, catalogue

    def _surrounded(self, loops: dict[int, values.Loop]) -> dict[int, values.Loop]:
        """The loops with what their rules may know of the plant around them."""
        stations = self._stations(loops.values())
        supply_loads = self._supply_loads(loops.values())
        terminals, fills = self._wiring(loops.values())
        spares = self._spares(loops.values())
        same_serial = self._same_serial()
        cascade = self._cascades(loops)
        surrounded = {}
        for pk, loop in loops.items():
            buses = {tag.settings.serial.bus for tag in loop.tags if tag.settings and tag.settings.serial}
            feeding = {
                (link.source_tag, link.source_port)
                for link in loop.links
                if (link.source_tag, link.source_port) in supply_loads
            }
            places = {
                end
                for link in loop.links
                for core in link.cores
                for end in ((core.from_place, core.from_terminal), (core.to_place, core.to_terminal))
            }
            cables = {core.cable.name for link in loop.links for core in link.cores}
            around = values.Surroundings(
                today=self.today,
                stations=tuple(station for bus in sorted(buses) for station in stations[bus]),
                supply_loads=tuple(load for key in sorted(feeding) for load in supply_loads[key]),
                terminals=tuple(use for key in sorted(places) for use in terminals.get(key, ())),
                cables=tuple(fills[name] for name in sorted(cables) if name in fills),
                spares={
                    str(tag.model): spares.get(str(tag.model), 0)
                    for tag in loop.tags
                    if tag.model and tag.model.obsolete
                },
                same_serial={
                    tag.asset.code: same_serial[tag.asset.code]
                    for tag in loop.tags
                    if tag.asset and tag.asset.code in same_serial
                },
                cascade=cascade.get(pk, ()),
            )
            surrounded[pk] = replace(loop, surroundings=around)
        return surrounded

    def _stations(self, loops: Iterable[values.Loop]) -> dict[str, list[values.Station]]:
        """Stations by bus, of every bus that the loops are on."""
        buses = {tag.settings.serial.bus for loop in loops for tag in loop.tags if tag.settings and tag.settings.serial}
        stations = defaultdict(list)
        if not buses:
            return stations
        rows = models.Settings.objects.filter(kind=SettingsKind.REQUIRED, tag__retired_on__isnull=True)
        rows = rows.exclude(serial_bus="")  # said of one bus too: it is the condition of the index
        rows = rows if self.scope.pks is None else rows.filter(serial_bus__in=buses)
        columns = tuple(f"serial_{name}" for name in values.SerialLine.__struct_fields__)
        found = list(
            rows.order_by("serial_address", "tag__name").values_list(
                "tag_id", "tag__name", "tag__loop__number", *columns
            )
        )
        unit_loads = self._unit_loads([row[0] for row in found])
        for pk, tag, loop, *row in found:
            line = msgspec.convert(_facts(values.SerialLine.__struct_fields__, row), values.SerialLine)
            stations[line.bus].append(values.Station(tag=tag, loop=loop, line=line, unit_load=unit_loads.get(pk)))
        return stations

    def _unit_loads(self, tags: list[int]) -> dict[int, Any]:
        """Unit loads of what is installed at the tags, built in or on a board."""
        serial = models.ModelPort.objects.filter(unit_load__isnull=False).order_by()
        built_in = serial.filter(
            model__assets__installations__to_date__isnull=True, model__assets__installations__tag__in=tags
        )
        on_board = serial.filter(
            model__fittings__to_date__isnull=True,
            model__fittings__controller__installations__to_date__isnull=True,
            model__fittings__controller__installations__tag__in=tags,
        )
        return dict(
            [
                *built_in.values_list("model__assets__installations__tag_id", "unit_load"),
                *on_board.values_list("model__fittings__controller__installations__tag_id", "unit_load"),
            ]
        )

    def _supply_loads(self, loops: Iterable[values.Loop]) -> dict[tuple[str, str], list[values.SupplyLoad]]:
        """Circuits by the supply port that feeds them, of every supply that the loops use."""
        rows = models.Link.objects.filter(
            source__purpose=Purpose.TRANSMITTER_SUPPLY, target__tag__retired_on__isnull=True
        )
        if self.scope.pks is not None:
            supplies = {
                connection.source_tag.name
                for loop in loops
                for connection in loop.connections(Purpose.TRANSMITTER_SUPPLY)
            }
            if not supplies:
                return {}
            rows = rows.filter(source__tag__name__in=supplies)
        loads = defaultdict(list)
        names = ("source__tag__name", "source__name", "target__tag__name", "target__tag__loop__number")
        for supply, port, tag, loop in rows.order_by("target__tag__name").values_list(*names):
            loads[supply, port].append(values.SupplyLoad(supply_tag=supply, supply_port=port, tag=tag, loop=loop))
        return loads

    def _wiring(
        self, loops: Iterable[values.Loop]
    ) -> tuple[dict[tuple[str, str], list[values.TerminalUse]], dict[str, values.CableFill]]:
        """Terminals that more than one link is on, and how full the cables are."""
        cables = {core.cable.name for loop in loops for link in loop.links for core in link.cores}
        if not cables:
            return {}, {}
        names = ("link__source__tag__name", "link__target__tag__name", "link__source__tag__loop__number")
        columns = ("link_id", "from_place", "from_terminal", "to_place", "to_terminal", "cable__name", "core", *names)
        on_shared = {key for pair in self._rows(_CORES_ON_ONE_TERMINAL) for key in pair}
        uses = defaultdict(dict)
        for link, *ends, cable, core, source, target, loop in (
            models.Core.objects.filter(pk__in=on_shared).order_by("pk").values_list(*columns)
        ):
            for place, terminal in (ends[:2], ends[2:]):
                if place and terminal:
                    use = values.TerminalUse(
                        cable=cable, core=core, place=place, terminal=terminal, link=f"{source} → {target}", loop=loop
                    )
                    uses[place, terminal].setdefault(link, use)
        shared = {key: list(by_link.values()) for key, by_link in uses.items() if len(by_link) > 1}
        claims = defaultdict(list)
        for cable, core, signal in (*self.claims, *self._rows(_CORES_OF_OTHERS)):
            claims[cable].append((core, signal))
        full = {
            cable: values.CableFill(
                cable=cable,
                cores_used=len({core for core, _ in claims[cable]}),
                cores_claimed=len(claims[cable]),
                signals=tuple(sorted({signal for _, signal in claims[cable] if signal})),
            )
            for cable in cables
        }
        return shared, full

    def _rows(self, statement: str) -> list[tuple]:
        """What a statement finds with the loops in scope put into it, wherever it names the column of their key."""
        parameters: tuple[int, ...] = ()

        def condition(column: re.Match) -> str:
            nonlocal parameters
            sql, keys = self.scope.sql(column[1])
            parameters += keys
            return sql

        with connections[models.Core.objects.db].cursor() as cursor:
            cursor.execute(re.sub(r"\{(.+?)\}", condition, statement), parameters)
            return cursor.fetchall()

    def _spares(self, loops: Iterable[values.Loop]) -> dict[str, int]:
        """Stock by model, of the obsolete models that are fitted; their successors' stock counts too."""
        if not any(tag.model and tag.model.obsolete for loop in loops for tag in loop.tags):
            return {}
        old = models.CatalogueModel.objects.filter(obsolete=True)
        stock = defaultdict(int)
        for table, path, quantity in (
            (models.StockLine.objects.all(), "model", Sum("quantity")),
            (models.Asset.objects.filter(state=AssetState.IN_STORE), "model", Count("pk")),
        ):
            for model, count in table.order_by().values_list(path).annotate(count=quantity):
                stock[model] += count or 0
        return {
            f"{maker} {name}": stock[pk] + (stock[successor] if successor else 0)
            for pk, maker, name, successor in old.values_list("pk", "maker", "name", "successor_id")
        }

    def _same_serial(self) -> dict[str, tuple[str, ...]]:
        """By asset code, the other assets of its maker that bear its serial number."""
        bearers = defaultdict(list)
        for code, other in self._rows(_SAME_SERIAL):
            bearers[code].append(other)
        return {code: tuple(others) for code, others in bearers.items()}

    def _cascades(self, loops: dict[int, values.Loop]) -> dict[int, tuple[str, ...]]:
        """By loop, the controllers upstream of its own, nearest first, at most :data:`CASCADE_DEPTH` of them."""
        edges = models.Link.objects.filter(target__purpose=Purpose.REMOTE_SET_POINT).order_by("pk")
        upstream: dict[str, str] = {}
        frontier = {
            connection.target_tag.name: None
            for loop in loops.values()
            for connection in loop.connections(Purpose.REMOTE_SET_POINT)
            if connection.target_tag in loop.tags
        }
        if self.scope.pks is None:
            upstream = dict(edges.values_list("target__tag__name", "source__tag__name"))
        else:
            for _ in range(CASCADE_DEPTH):
                if not frontier:
                    break
                found = dict(
                    edges.filter(target__tag__name__in=frontier).values_list("target__tag__name", "source__tag__name")
                )
                upstream |= found
                frontier = {source: None for source in found.values() if source not in upstream}
        chains = {}
        for pk, loop in loops.items():
            for controller in loop.controllers:
                chain: list[str] = []
                at = controller.name
                while at in upstream and len(chain) < CASCADE_DEPTH:
                    at = upstream[at]
                    chain.append(at)
                    if at == controller.name:
                        break
                if chain:
                    chains[pk] = tuple(chain)
        return chains


# What a loop shares with others is looked up by what it has, never among all that the plant has: a terminal in a panel
# of thousands, a cable, a serial number.

_MINE = """
WITH mine AS (
  SELECT link.id FROM register_link link
  JOIN register_port source ON source.id = link.source_id JOIN register_tag source_tag ON source_tag.id = source.tag_id
  JOIN register_port target ON target.id = link.target_id JOIN register_tag target_tag ON target_tag.id = target.tag_id
  WHERE source_tag.retired_on IS NULL AND target_tag.retired_on IS NULL AND {source_tag.loop_id}
  UNION
  SELECT link.id FROM register_link link
  JOIN register_port source ON source.id = link.source_id JOIN register_tag source_tag ON source_tag.id = source.tag_id
  JOIN register_port target ON target.id = link.target_id JOIN register_tag target_tag ON target_tag.id = target.tag_id
  WHERE source_tag.retired_on IS NULL AND target_tag.retired_on IS NULL AND {target_tag.loop_id}
)"""
_CORES_ON_ONE_TERMINAL = f"""{_MINE}, ends AS (
  SELECT id, link_id, from_place AS place, from_terminal AS terminal FROM register_core
  WHERE link_id IN (SELECT id FROM mine) AND from_place <> '' AND from_terminal <> ''
  UNION ALL
  SELECT id, link_id, to_place, to_terminal FROM register_core
  WHERE link_id IN (SELECT id FROM mine) AND to_place <> '' AND to_terminal <> ''
)
SELECT ends.id, core.id FROM ends
JOIN register_core core ON core.from_place = ends.place AND core.from_terminal = ends.terminal
WHERE core.link_id <> ends.link_id
UNION
SELECT ends.id, core.id FROM ends
JOIN register_core core ON core.to_place = ends.place AND core.to_terminal = ends.terminal
WHERE core.link_id <> ends.link_id
"""
_CORES_OF_OTHERS = f"""{_MINE}, cables AS (
  SELECT DISTINCT cable_id AS id FROM register_core WHERE link_id IN (SELECT id FROM mine)
)
SELECT cable.name, core.core, port.signal FROM cables
JOIN register_core core ON core.cable_id = cables.id
JOIN register_cable cable ON cable.id = cables.id
JOIN register_link link ON link.id = core.link_id JOIN register_port port ON port.id = link.source_id
WHERE core.link_id NOT IN (SELECT id FROM mine)
"""
_SAME_SERIAL = """
SELECT DISTINCT asset.code, other.code FROM register_tag tag
JOIN register_installation installation ON installation.tag_id = tag.id AND installation.to_date IS NULL
JOIN register_asset asset ON asset.id = installation.asset_id
JOIN register_cataloguemodel model ON model.id = asset.model_id
JOIN register_asset other ON other.serial = asset.serial AND other.id <> asset.id
JOIN register_cataloguemodel other_model ON other_model.id = other.model_id AND other_model.maker = model.maker
WHERE {tag.loop_id}
ORDER BY 1, 2
"""

CASCADE_DEPTH = 5
"""How far up a cascade is followed; a ring of more loops than this does not occur."""


def _settings(facts: dict[str, Any]) -> values.Settings:
    line = {
        name: facts.pop(f"serial_{name}") for name in values.SerialLine.__struct_fields__ if f"serial_{name}" in facts
    }
    facts["serial"] = msgspec.convert(line, values.SerialLine) if "bus" in line else None
    facts["range"] = _range(facts, "range")
    return msgspec.convert(facts, values.Settings)
