"""From the rows of an index to the register's own tables, as its own workbook would give them.

What a row states counts; where it says nothing, what the register holds stays; where that holds nothing either, what
follows from the tag's letters and number is taken.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from register.exchange.foreign.indexes import Entry, Index
from register.exchange.foreign.spelling import folded
from register.exchange.reading import Origin, Reading, WorkbookProblem
from register.exchange.stating import Filling, Stated, says
from register.models import Alarm, Area, CatalogueModel, Loop, Port, Tag
from register.plant.tag_letters import kind_of
from register.plant.words import AlarmKind, Direction, Purpose, Role
from register.services import importing

_SENDS = ("Output", Direction.OUT, Purpose.MEASUREMENT)
_READS = ("Input", Direction.IN, Purpose.MEASUREMENT)
PORTS = {
    Role.SENSOR: _SENDS,
    Role.TRANSMITTER: _SENDS,
    Role.SIGNAL_CONDITIONER: _SENDS,
    Role.CONTROLLER: _READS,
    Role.INDICATOR: _READS,
    Role.RECORDER: _READS,
    Role.ALARM_UNIT: _READS,
    Role.FINAL_ELEMENT: ("Signal", Direction.IN, Purpose.CONTROL),
    Role.SET_POINT_SOURCE: ("Output", Direction.OUT, Purpose.REMOTE_SET_POINT),
    Role.POWER_SUPPLY: ("Output", Direction.OUT, Purpose.TRANSMITTER_SUPPLY),
}
"""The port of which an index speaks when it gives a tag's signal and range, by the tag's role."""

RANGE = ("range_low", "range_high", "range_unit", "range_reference")
CUT_OUT = ("cutout_width_mm", "cutout_height_mm")
SUPPLY = ("supply_kind", "supply_v")
SPECIFIED = ("specified__maker", "specified__name")

MADE = {
    CatalogueModel: ("maker", "name", "kind"),
    Area: ("code", "name"),
    Loop: ("number", "service", "area__code", "kind"),
    Tag: ("name", "loop__number", "role", "description"),
    Port: ("tag__name", "name", "direction", "purpose"),
    Alarm: ("tag__name", "name", "kind", "set_point"),
}
"""The tables that an index fills, in the order of the workbook's sheets, and what it gives of each in any case."""

GIVES: dict[str, list[tuple[type[models.Model], str]]] = {
    "tag": [(Tag, "name"), (Port, "tag__name"), (Alarm, "tag__name")],
    "loop": [(Loop, "number"), (Tag, "loop__number")],
    "area": [(Loop, "area__code"), (Area, "code"), (Area, "name")],
    "maker": [(Tag, "specified__maker"), (CatalogueModel, "maker")],
    "model": [*((Tag, path) for path in SPECIFIED), (CatalogueModel, "name")],
    "range": [(Port, path) for path in RANGE],
    "low": [(Port, path) for path in RANGE],
    "high": [(Port, path) for path in RANGE],
    "unit": [(Port, "range_unit")],
    "cutout": [(Tag, path) for path in CUT_OUT],
    "supply": [(Tag, path) for path in SUPPLY],
}
"""Facts that follow from a target which is not one fact itself."""


def make_reading(index: Index, sheet: str) -> Reading:
    """The rows of an index as a reading that can be imported; ``sheet`` is what people call where they stand.

    Texts that are still asked about are problems of it.
    """
    making = _Making(index, sheet)
    for entry in index.entries():
        making.take(entry)
    return making.reading()


@dataclass
class _LoopStated(Stated):
    """What the rows of a loop say of it, and the roles in it."""

    roles: set[Role] = field(default_factory=set)


class _Making:
    def __init__(self, index: Index, sheet: str):
        self.index = index
        self.sheet = sheet
        self.headings = {target.key: index.headings.texts[place] for place, target in index.columns.items()}
        self.facts = {table: self._facts_of(table) for table in MADE}
        self.tables: dict[type[models.Model], tuple[Filling, importing.PackedRows]] = {}
        self.loops: dict[str, _LoopStated] = {}
        self.areas: dict[str, int] = {}
        self.tags: set[str] = set()
        self.models: set[tuple[str, str]] = set()
        self.problems: list[WorkbookProblem] = []
        self.without_unit: list[int] = []

    def _facts_of(self, table: type[models.Model]) -> dict[str, str]:
        """By target, the facts of a table that are a target each."""
        targets = self.index.columns.values()
        return {target.key: target.fact[1] for target in targets if target.fact and target.fact[0] is table}

    def take(self, entry: Entry) -> None:
        for key, message in entry.problems.items():
            self._problem(entry, key, message)
        if not entry.area:
            self._problem(entry, "area", _("The row names no area. Choose one for such rows."))
        if entry.role is None or not entry.area:
            return
        self._loop(entry)
        self._tag(entry)
        if entry.tag not in self.tags:
            self.tags.add(entry.tag)
            self._port(entry)
            self._alarms(entry)

    def _problem(self, entry: Entry, key: str, message: str) -> None:
        heading, found = self.headings.get(key, ""), entry.texts.get(key, "")
        self.problems.append(WorkbookProblem(message, self.sheet, entry.row, heading, found))

    def _add(self, table: type[models.Model], one: Stated) -> None:
        if table not in self.tables:
            paths = self._paths(table)
            self.tables[table] = Filling(table, paths), importing.PackedRows(table, paths)
        filling, rows = self.tables[table]
        rows.append(filling.fill(one))

    def _paths(self, table: type[models.Model]) -> tuple[str, ...]:
        """The columns of a table that the index fills."""
        given = [path for key in self.headings for of, path in GIVES.get(key, ()) if of is table]
        return tuple(dict.fromkeys((*MADE[table], *self.facts[table].values(), *given)))

    def _stated(self, entry: Entry, table: type[models.Model]) -> dict[str, Any]:
        facts = self.facts[table].items()
        return {path: entry.values[key] for key, path in facts if says(entry.values.get(key))}

    def _loop(self, entry: Entry) -> None:
        loop = self.loops.setdefault(entry.loop, _LoopStated(entry.row, {"number": entry.loop}))
        loop.roles.add(entry.role)
        stated = {key: entry.values[key] for key in self.facts[Loop] if says(entry.values.get(key))}
        if entry.values.get("area"):
            stated["area"] = entry.area
        for key, fact in stated.items():
            path = self.facts[Loop].get(key, "area__code")
            if loop.stated.setdefault(path, fact) != fact and key != "service":  # its tags may each have their own
                said = {"row": loop.row, "loop": entry.loop}
                message = _("Row %(row)d says otherwise of the same loop, %(loop)s. Correct one of them.")
                self._problem(entry, key, message % said)
        loop.inferred.setdefault("area__code", entry.area)
        loop.inferred.setdefault("service", entry.values.get("description") or "")
        if entry.area in self.index.new_areas:
            self.areas.setdefault(entry.area, entry.row)

    def _tag(self, entry: Entry) -> None:
        stated = {"name": entry.tag} | self._stated(entry, Tag)
        inferred = {"role": entry.role, "description": entry.values.get("service")}
        (stated if entry.values.get("loop") else inferred)["loop__number"] = entry.loop
        if cutout := entry.values.get("cutout"):
            stated |= zip(CUT_OUT, cutout, strict=True)
        if supply := entry.values.get("supply"):
            stated |= {path: fact for path, fact in zip(SUPPLY, supply, strict=True) if fact is not None}
        if name := entry.values.get("model"):
            stated |= self._specified(entry, name)
        self._add(Tag, Stated(entry.row, stated, inferred))

    def _specified(self, entry: Entry, name: str) -> dict[str, str]:
        """Maker and name of a model as the catalogue has them; one that it does not hold is added to it."""
        known = self.index.standing.models.get(folded(name), [])
        maker = entry.values.get("maker") or (known[0][0] if len(known) == 1 else "")
        if not maker:
            self._problem(entry, "model", _("The catalogue needs the maker of a model. Give the row one."))
            return {}
        model = next((one for one in known if folded(one[0]) == folded(maker)), (maker, name))
        if model not in known and model not in self.models:
            self.models.add(model)
            self._add(CatalogueModel, Stated(entry.row, {"maker": maker, "name": name}, {"kind": entry.role}))
        return dict(zip(SPECIFIED, model, strict=True))

    def _range(self, entry: Entry) -> dict[str, Any]:
        if whole := entry.values.get("range"):
            return dict(zip(RANGE, (whole.low, whole.high, whole.unit, whole.reference), strict=True))
        low, high = entry.values.get("low"), entry.values.get("high")
        if low is None and high is None:
            return {}
        unit = entry.values.get("unit") or self.index.units.get("low") or self.index.units.get("high")
        if unit is None:
            self.without_unit.append(entry.row)
            return {}
        return dict(zip(RANGE, (low, high, unit.code, unit.reference), strict=True))

    def _port(self, entry: Entry) -> None:
        stated = self._stated(entry, Port)
        stated = {path: fact for path, fact in stated.items() if path not in RANGE} | self._range(entry)
        if not stated:
            return
        usual, direction, purpose = PORTS[entry.role]
        there = [name for name, *kind in (entry.known.ports if entry.known else ()) if kind == [direction, purpose]]
        named = {"tag__name": entry.tag, "name": there[0] if there else usual}
        self._add(Port, Stated(entry.row, named | stated, {"direction": direction, "purpose": purpose}))

    def _alarms(self, entry: Entry) -> None:
        for kind in AlarmKind:
            if (set_point := entry.values.get(f"alarm:{kind}")) is not None:
                there = [name for name, of in (entry.known.alarms if entry.known else ()) if of == kind]
                named = {"tag__name": entry.tag, "name": there[0] if there else kind.capitalize()}
                self._add(Alarm, Stated(entry.row, named | {"set_point": set_point}, {"kind": kind}))

    def reading(self) -> Reading:
        for code, row in self.areas.items():
            self._add(Area, Stated(row, {"code": code, "name": self.index.new_areas[code]}))
        for loop in self.loops.values():
            loop.inferred["kind"] = kind_of(loop.roles)
            self._add(Loop, loop)
        sheets = {}
        for table in MADE:
            if table in self.tables:
                filling, rows = self.tables[table]
                sheets[table] = importing.Sheet(filling.paths, rows)
        return Reading(sheets, self.problems, not_read=list(self._not_read()), origin=self._origin)

    def _not_read(self) -> Iterator[str]:
        for place, heading in enumerate(self.index.headings.texts):
            if heading and place not in self.index.columns:
                yield _("column %(heading)s") % {"heading": heading}
        for one in self.index.passed_over:
            yield _("row %(row)d: %(text)s (%(why)s)") % {"row": one.row, "text": one.text, "why": one.why}
        if self.without_unit:
            rows = ", ".join(map(str, self.without_unit))
            yield _("the ranges of these rows, which have no unit: %(rows)s") % {"rows": rows}

    @cached_property
    def _origin(self) -> Origin:
        found = {place: self.headings[key] for key, places in GIVES.items() if key in self.headings for place in places}
        own = {target.fact: self.headings[target.key] for target in self.index.columns.values() if target.fact}
        return Origin(self.sheet, found | own)
