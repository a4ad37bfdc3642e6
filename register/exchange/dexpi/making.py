"""From a drawing to the register's own tables, as its own workbook would give them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from django.db import models
from django.utils.translation import gettext as _

from register.exchange.dexpi.comparing import Fact, key_of, line_subject
from register.exchange.dexpi.drawing import Does, Drawing, Function, Line
from register.exchange.dexpi.standing import Beside, Place, Standing
from register.exchange.reading import Origin, Reading, WorkbookProblem
from register.exchange.stating import Stated, rows_of
from register.models import Area, Link, Loop, Port, Tag
from register.plant.tag_letters import kind_of
from register.plant.words import Direction, Location, Purpose

ORDER = (Area, Loop, Tag, Port, Link)
OUT = {
    Purpose.MEASUREMENT: "Output",
    Purpose.CONTROL: "Output",
    Purpose.ALARM: "Relay",
    Purpose.RETRANSMISSION: "Retransmission",
    Purpose.REMOTE_SET_POINT: "Set point",
    Purpose.POSITION_FEEDBACK: "Position",
}
IN = {
    Purpose.MEASUREMENT: "Input",
    Purpose.CONTROL: "Signal",
    Purpose.ALARM: "Coil",
    Purpose.RETRANSMISSION: "Input",
    Purpose.REMOTE_SET_POINT: "Remote set point",
    Purpose.POSITION_FEEDBACK: "Position",
}
"""What a new port is called, by what flows through it. A drawing names none."""


def make_reading(drawing: Drawing, standing: Standing, *, area: str, taken: Collection[str] = ()) -> Reading:
    """The drawing as a reading that can be imported: what it adds, and of what it contradicts the differences whose
    keys are taken. New loops go to the area of this code; "" is the drawing's own section of plant.

    What keeps the drawing out is a problem of the reading.
    """
    return _Making(drawing, standing, area, taken).reading()


class _Making:
    def __init__(self, drawing: Drawing, standing: Standing, area: str, taken: Collection[str]):
        self.drawing, self.beside = drawing, Beside(drawing, standing)
        self.area, self.taken = area, taken
        self.made: dict[type[models.Model], list[Stated]] = {table: [] for table in ORDER}
        self.problems = [WorkbookProblem(fault) for fault in drawing.faults]
        self.left_out: set[str] = set()
        self.ports = defaultdict(list, {tag: list(ports) for tag, ports in standing.ports.items()})
        self.made_here: set[Place] = set()  # inputs that a line of the drawing feeds

    def reading(self) -> Reading:
        for number in self.drawing.loops:
            self._loop(number)
        for one in self.drawing.functions:
            self._tag(one)
        for line in self.drawing.lines:
            if not self.left_out & {line.source, line.target} and not self.beside.joined(line):
                self._line(line)
        return Reading(
            sheets={table: rows_of(table, made) for table, made in self.made.items() if made},
            problems=self.problems,
            not_read=list(self.drawing.left_out),
            origin=Origin(_("drawing %(name)s") % {"name": self.drawing.name}, _HEADINGS),
        )

    def _add(self, table: type[models.Model], stated: dict, inferred: dict) -> None:
        self.made[table].append(Stated(len(self.made[table]) + 1, stated, inferred))

    def _takes(self, fact: Fact, subject: str) -> bool:
        return key_of(fact, subject) in self.taken

    def _loop(self, drawn: str) -> None:
        held = self.beside.loops[drawn]
        if held is None:
            roles = {one.role for one in self.drawing.functions if one.loop == drawn}
            self._add(Loop, {"number": drawn}, {"area__code": self._area(), "kind": kind_of(roles), "service": ""})
        elif held[1] and self._takes(Fact.IN_SERVICE, held[0]):
            self._add(Loop, {"number": held[0], "retired_on": None}, {})
        elif held[1]:
            self.left_out |= {one.tag for one in self.drawing.functions if one.loop == drawn}

    def _area(self) -> str:
        """The code of the area that new loops go to; the drawing's own is made where the register has none such."""
        if self.area or any(one.message == _NO_AREA for one in self.problems):
            return self.area
        code = self.drawing.area_code
        if not code:
            self.problems.append(WorkbookProblem(_NO_AREA))
            return ""
        if not self.made[Area]:
            self._add(Area, {"code": code}, {"name": self.drawing.area_name or code})
        return code

    def _tag(self, one: Function) -> None:
        held, name = self.beside.tag(one.tag), self.beside.name(one.tag)
        if held and held.retired_on and not self._takes(Fact.IN_SERVICE, name):
            self.left_out.add(one.tag)
        if one.tag in self.left_out:
            return
        drawn = {
            Fact.MEMBER_OF: ("loop__number", self.beside.loop_number(one.loop)),
            Fact.ROLE: ("role", one.role),
            Fact.LOCATION: ("location", one.location or (Location.FIELD if one.does is not Does.HANDLES else "")),
            Fact.PLACE: ("place", one.place),
            Fact.DESCRIPTION: ("description", one.description),
            Fact.FAIL_POSITION: ("fail_position", one.fail_position or ""),
            Fact.IN_SERVICE: ("retired_on", None),
        }
        stated = dict(pair for fact, pair in drawn.items() if self._takes(fact, name))
        self._add(Tag, {"name": name} | stated, dict(drawn.values()))

    def _line(self, line: Line) -> None:
        rival = self.beside.rival(line)
        if rival and not self._takes(Fact.LINE, line_subject(self.beside, line)):
            return
        source, target = self.beside.name(line.source), self.beside.name(line.target)
        purpose = self.beside.purpose(line)
        free = [
            port for port, feeder in self.beside.inputs(line) if not feeder and (target, port) not in self.made_here
        ]
        if rival and (target, rival[0]) not in self.made_here:
            port = rival[0]
        else:
            port = free[0] if free else self._new_port(target, Direction.IN, purpose, IN[purpose])
        self.made_here.add((target, port))
        sent = [name for name, *kind in self.ports[source] if kind == [Direction.OUT, purpose]]
        output = sent[0] if sent else self._new_port(source, Direction.OUT, purpose, OUT[purpose])
        ends = {"target__tag__name": target, "target__name": port, "source__tag__name": source, "source__name": output}
        self._add(Link, ends, {"note": line.kind})

    def _new_port(self, tag: str, direction: Direction, purpose: Purpose, usual: str) -> str:
        names = {name for name, *_kind in self.ports[tag]}
        numbered = (f"{usual} {place}" for place in range(2, len(names) + 3))
        name = next(one for one in (usual, *numbered) if one not in names)
        self.ports[tag].append((name, direction, purpose))
        self._add(Port, {"tag__name": tag, "name": name}, {"direction": direction, "purpose": purpose})
        return name


_NO_AREA = "The drawing does not say to which section of plant it belongs. Choose an area for its new loops."
_HEADINGS = {
    (Loop, "number"): "Loop",
    (Tag, "name"): "Tag",
    (Tag, "loop__number"): "Loop",
    (Port, "tag__name"): "Tag",
    (Link, "target__tag__name"): "Tag",
}
