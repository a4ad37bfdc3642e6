"""A drawing beside the register: which tags and loops are the same, and what joins them there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Q

from register.exchange.dexpi.drawing import Does, Drawing, Function, Line
from register.exchange.foreign.standing import squeezed
from register.models import Link, Loop, Port, Tag
from register.plant.words import Direction, Location, Purpose, Role

Place = tuple[str, str]
"""A tag and a port of it."""


@dataclass(frozen=True)
class HeldTag:
    name: str
    loop: str
    role: Role
    location: str
    place: str
    description: str
    fail_position: str
    retired_on: date | None


@dataclass(frozen=True)
class Standing:
    """What the register holds of a drawing: tags and loops by squeezed name, ports by tag, what feeds each input."""

    tags: dict[str, HeldTag] = field(default_factory=dict)
    loops: dict[str, tuple[str, date | None]] = field(default_factory=dict)
    ports: dict[str, list[tuple[str, str, str]]] = field(default_factory=dict)
    fed_by: dict[Place, Place] = field(default_factory=dict)


def what_stands(drawings: Iterable[Drawing]) -> Standing:
    """Read what these drawings name, however the register writes it, with all members of the loops concerned."""
    drawings = list(drawings)
    names = {squeezed(one.tag) for drawing in drawings for one in drawing.functions}
    numbers = {squeezed(one) for drawing in drawings for one in drawing.loops}
    same = [pk for pk, name in Tag.objects.order_by().values_list("pk", "name") if squeezed(name) in names]
    facts = ("name", "loop__number", "role", "location", "place", "description", "fail_position", "retired_on")
    tags = {squeezed(row[0]): HeldTag(*row) for row in Tag.objects.filter(pk__in=same).values_list(*facts)}
    loops = {
        squeezed(number): (number, retired_on)
        for number, retired_on in Loop.objects.order_by().values_list("number", "retired_on")
        if squeezed(number) in numbers
    }
    concerned = {tag.loop for tag in tags.values()} | {number for number, _retired in loops.values()}
    ports = defaultdict(list)
    of_loops = Port.objects.filter(tag__loop__number__in=concerned).order_by("pk")
    for tag, *port in of_loops.values_list("tag__name", "name", "direction", "purpose"):
        ports[tag].append(tuple(port))
    joined = Link.objects.filter(
        Q(source__tag__loop__number__in=concerned) | Q(target__tag__loop__number__in=concerned)
    ).values_list("source__tag__name", "source__name", "target__tag__name", "target__name")
    return Standing(tags, loops, dict(ports), {(to, port): (tag, out) for tag, out, to, port in joined})


class Beside:
    """A drawing with the names that the register has for its tags and loops."""

    def __init__(self, drawing: Drawing, standing: Standing):
        self.drawing, self.standing = drawing, standing
        self.functions = {one.tag: one for one in drawing.functions}
        self.loops = {number: self._loop(number) for number in drawing.loops}
        self._feeds = defaultdict(set)
        for (target, _port), (source, _out) in standing.fed_by.items():
            self._feeds[source].add(target)

    def tag(self, drawn: str) -> HeldTag | None:
        return self.standing.tags.get(squeezed(drawn))

    def name(self, drawn: str) -> str:
        """The tag's name as the register has it; a new one stays as it is drawn."""
        held = self.tag(drawn)
        return held.name if held else drawn

    def _loop(self, drawn: str) -> tuple[str, date | None] | None:
        """The loop's number as the register has it, and when it was retired: by its name, else by its members."""
        if found := self.standing.loops.get(squeezed(drawn)):
            return found
        members = [one for one in self.drawing.functions if one.loop == drawn]
        for one in sorted(members, key=lambda one: (one.does is not Does.HANDLES, one.tag)):
            if (held := self.tag(one.tag)) and not held.retired_on:
                return held.loop, None
        return None

    def loop_number(self, drawn: str) -> str:
        held = self.loops[drawn]
        return held[0] if held else drawn

    def role(self, one: Function) -> Role:
        held = self.tag(one.tag)
        return held.role if held and held.role in one.does.roles else one.role

    def purpose(self, line: Line) -> Purpose:
        """What flows along a line, by what its ends do (common practice, no source)."""
        source, target = self.functions[line.source], self.functions[line.target]
        if target.does is Does.ACTS:
            return Purpose.ALARM if self.role(source) == Role.ALARM_UNIT else Purpose.CONTROL
        if source.does is Does.ACTS:
            return Purpose.POSITION_FEEDBACK
        if source.does is Does.MEASURES:
            return Purpose.MEASUREMENT
        if self.role(target) == Role.CONTROLLER and self.role(source) in (Role.CONTROLLER, Role.SET_POINT_SOURCE):
            return Purpose.REMOTE_SET_POINT
        return Purpose.RETRANSMISSION

    def joined(self, line: Line) -> bool:
        """Whether a signal runs in the register from one end to the other, if by way of what the drawing leaves out."""
        start, end = self.name(line.source), self.name(line.target)
        drawn = {self.name(one) for one in self.functions}
        seen, front = {start}, {start}
        while front:
            reached = {target for source in front for target in self._feeds[source]}
            if end in reached:
                return True
            front = reached - seen - drawn
            seen |= front
        return False

    def inputs(self, line: Line) -> Iterator[tuple[str, str]]:
        """The ports of the line's target for what flows along it, each with the tag that feeds it, or ""."""
        target = self.name(line.target)
        for port, direction, purpose in self.standing.ports.get(target, ()):
            if (direction, purpose) == (Direction.IN, self.purpose(line)):
                yield port, self.standing.fed_by.get((target, port), ("", ""))[0]

    def rival(self, line: Line) -> tuple[str, str] | None:
        """Port and feeder of an input that the register feeds from elsewhere, where it has none free for the line."""
        drawn = {self.name(one.source) for one in self.drawing.lines if one.target == line.target}
        inputs = list(self.inputs(line))
        if any(not feeder for _port, feeder in inputs):
            return None
        return next(((port, feeder) for port, feeder in inputs if feeder not in drawn), None)


IN_THE_FIELD = (Location.FIELD, Location.JUNCTION_BOX)


def agree(drawn: Location, held: str) -> bool:
    """A drawing tells the field from the control room; which rack or box it is it does not say."""
    return (drawn in IN_THE_FIELD) == (held in IN_THE_FIELD)
