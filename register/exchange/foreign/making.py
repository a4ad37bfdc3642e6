"""From the rows of an index to the register's own tables, as its own workbook would give them.

What a row states counts; where it says nothing, what the register holds stays; where that holds nothing either, what
follows from the tag's letters and number is taken.
"""

from __future__ import annotations

from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from register.calc.ranges import Range
from register.exchange.foreign.indexes import Entry, Index
from register.exchange.foreign.spelling import folded
from register.exchange.foreign.targets import targets
from register.exchange.reading import Origin, Reading, WorkbookProblem
from register.exchange.stating import Stated, rows_of, says
from register.models import Alarm, Area, CatalogueModel, Loop, Port, Tag
from register.plant.tag_letters import kind_of
from register.plant.words import AlarmKind, Direction, Purpose, Role

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
ORDER = (CatalogueModel, Area, Loop, Tag, Port, Alarm)


def make_reading(index: Index, sheet: str) -> Reading:
    """The rows of an index as a reading that can be imported; ``sheet`` is what people call where they stand.

    Texts that are still asked about are problems of it.
    """
    making = _Making(index, sheet)
    for entry in index.entries():
        making.take(entry)
    return making.reading()


class _Making:
    def __init__(self, index: Index, sheet: str):
        self.index = index
        self.sheet = sheet
        self.made: dict[type[models.Model], dict[tuple, Stated]] = {table: {} for table in ORDER}
        self.twice: list[tuple[type[models.Model], Stated]] = []
        self.problems: list[WorkbookProblem] = []
        self.roles: dict[str, set[Role]] = {}
        self.without_unit: list[int] = []
        self.headings = {target.key: index.headings.texts[place] for place, target in index.columns.items()}

    def take(self, entry: Entry) -> None:
        for key, message in entry.problems.items():
            self._problem(entry, key, message)
        if entry.role is None or not entry.area:
            if not entry.area:
                self._problem(entry, "area", _("The row names no area. Choose one for such rows."))
            return
        self.roles.setdefault(entry.loop, set()).add(entry.role)
        self._loop(entry)
        tag = self._tag(entry)
        if (entry.tag,) in self.made[Tag]:
            self.twice.append((Tag, tag))
            return
        self.made[Tag][entry.tag,] = tag
        self._port(entry)
        self._alarms(entry)

    def _problem(self, entry: Entry, key: str, message: str) -> None:
        self.problems.append(
            WorkbookProblem(message, self.sheet, entry.row, self.headings.get(key, ""), entry.texts.get(key, ""))
        )

    def _facts(self, entry: Entry, table: type[models.Model]) -> dict[str, Any]:
        """What the entry states of a table, of targets that are one fact of it."""
        return {
            target.fact[1]: entry.values[target.key]
            for target in self.index.columns.values()
            if target.fact and target.fact[0] is table and says(entry.values.get(target.key))
        }

    def _loop(self, entry: Entry) -> None:
        first = self.made[Loop].setdefault((entry.loop,), Stated(entry.row, {"number": entry.loop}))
        area = {"area__code": entry.area}
        stated = self._facts(entry, Loop) | (area if entry.values.get("area") else {})
        for path, fact in stated.items():
            if first.stated.setdefault(path, fact) != fact and path != "service":  # one loop, many services of its tags
                key = next((key for key, one in targets().items() if one.fact == (Loop, path)), "area")
                message = _("Row %(row)d says otherwise of the same loop, %(loop)s. Correct one of them.")
                self._problem(entry, key, message % {"row": first.row, "loop": entry.loop})
        first.inferred.setdefault("service", entry.values.get("description") or "")
        for path, fact in area.items():
            first.inferred.setdefault(path, fact)
        if entry.area in self.index.new_areas:
            named = {"code": entry.area, "name": self.index.new_areas[entry.area]}
            self.made[Area].setdefault((entry.area,), Stated(entry.row, named))

    def _tag(self, entry: Entry) -> Stated:
        made = Stated(entry.row, {"name": entry.tag} | self._facts(entry, Tag))
        made.inferred = {"role": entry.role, "description": entry.values.get("service") or ""}
        (made.stated if entry.values.get("loop") else made.inferred)["loop__number"] = entry.loop
        if cutout := entry.values.get("cutout"):
            made.stated["cutout_width_mm"], made.stated["cutout_height_mm"] = cutout
        if supply := entry.values.get("supply"):
            kind, made.stated["supply_v"] = supply
            if kind:
                made.stated["supply_kind"] = kind
        if name := entry.values.get("model"):
            self._model(entry, made, name)
        return made

    def _model(self, entry: Entry, tag: Stated, name: str) -> None:
        known = self.index.standing.models.get(folded(name), [])
        maker = entry.values.get("maker")
        if not maker and len(known) == 1:
            maker = known[0][0]
        if not maker:
            self._problem(entry, "model", _("The catalogue needs the maker of a model. Give the row one."))
            return
        maker, name = next((one for one in known if folded(one[0]) == folded(maker)), (maker, name))
        tag.stated |= {"specified__maker": maker, "specified__name": name}
        if (maker, name) not in known:
            made = Stated(entry.row, {"maker": maker, "name": name}, {"kind": entry.role})
            self.made[CatalogueModel].setdefault((maker, name), made)

    def _range(self, entry: Entry) -> dict[str, Any]:
        whole: Range | None = entry.values.get("range")
        if whole:
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
        stated = {path: fact for path, fact in self._facts(entry, Port).items() if path == "signal"} | self._range(
            entry
        )
        if not stated:
            return
        usual, direction, purpose = PORTS[entry.role]
        there = [name for name, *kind in (entry.known.ports if entry.known else ()) if kind == [direction, purpose]]
        name = there[0] if there else usual
        key = {"tag__name": entry.tag, "name": name}
        made = Stated(entry.row, key | stated, {"direction": direction, "purpose": purpose})
        self.made[Port][entry.tag, name] = made

    def _alarms(self, entry: Entry) -> None:
        for kind in AlarmKind:
            set_point = entry.values.get(f"alarm:{kind}")
            if set_point is None:
                continue
            there = [name for name, of in (entry.known.alarms if entry.known else ()) if of == kind]
            name = there[0] if there else str(kind).capitalize()
            key = {"tag__name": entry.tag, "name": name}
            self.made[Alarm][entry.tag, name] = Stated(entry.row, key | {"set_point": set_point}, {"kind": kind})

    def reading(self) -> Reading:
        for (number,), loop in self.made[Loop].items():
            loop.inferred["kind"] = kind_of(self.roles[number])
        reading = Reading(problems=self.problems, origin=self._origin())
        for table in ORDER:
            made = [*self.made[table].values(), *(one for of, one in self.twice if of is table)]
            if made:
                reading.sheets[table] = rows_of(table, sorted(made, key=lambda one: one.row))
        reading.not_read = [
            _("column %(heading)s") % {"heading": heading}
            for place, heading in enumerate(self.index.headings.texts)
            if heading and place not in self.index.columns
        ]
        reading.not_read += [
            _("row %(row)d: %(text)s (%(why)s)") % {"row": one.row, "text": one.text, "why": one.why}
            for one in self.index.passed_over
        ]
        if self.without_unit:
            rows = ", ".join(map(str, self.without_unit))
            reading.not_read.append(_("the ranges of these rows, which have no unit: %(rows)s") % {"rows": rows})
        return reading

    def _origin(self) -> Origin:
        found = {target.fact: self.headings[target.key] for target in self.index.columns.values() if target.fact}
        for key, places in _PLACES.items():
            if key in self.headings:
                found |= dict.fromkeys(places, self.headings[key])
        return Origin(self.sheet, found)


_PLACES: dict[str, list[tuple[type[models.Model], str]]] = {
    "unit": [(Port, "range_unit")],
    "range": [(Port, path) for path in RANGE],
    "cutout": [(Tag, "cutout_width_mm"), (Tag, "cutout_height_mm")],
    "supply": [(Tag, "supply_v"), (Tag, "supply_kind")],
    "maker": [(Tag, "specified__maker"), (CatalogueModel, "maker")],
    "model": [(Tag, "specified__name"), (CatalogueModel, "name")],
    "area": [(Loop, "area__code"), (Area, "code"), (Area, "name")],
    "tag": [(Tag, "name"), (Port, "tag__name"), (Alarm, "tag__name")],
    "loop": [(Loop, "number"), (Tag, "loop__number")],
}
"""Where the facts lie that a target of several gives."""
