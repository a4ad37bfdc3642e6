"""Drawing against register: what the drawing adds, what is gone from it, and what the two say differently."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from django.utils.translation import gettext as _

from register.exchange.dexpi.drawing import Drawing, Function, Line
from register.exchange.dexpi.standing import Beside, HeldTag, Standing, agree
from register.exchange.foreign.standing import squeezed


class Kind(StrEnum):
    ADDED = "added"
    GONE = "gone"
    CONTRADICTED = "contradicted"


class Fact(StrEnum):
    LOOP = "loop"
    TAG = "tag"
    LINE = "signal line"
    IN_SERVICE = "in service"
    MEMBER_OF = "member of"
    ROLE = "role"
    LOCATION = "location"
    PLACE = "place"
    DESCRIPTION = "description"
    FAIL_POSITION = "on loss of signal or power"


def key_of(fact: Fact, subject: str) -> str:
    """What names a difference, on a form that is sent back."""
    return f"{fact}: {subject}"


@dataclass(frozen=True)
class Difference:
    """One fact of a tag, a loop or a line, as it is drawn and as the register holds it ("": not at all)."""

    kind: Kind
    subject: str
    fact: Fact
    drawn: str = ""
    held: str = ""

    @property
    def key(self) -> str:
        return key_of(self.fact, self.subject)


def compare(drawing: Drawing, earlier: Iterable[Drawing], standing: Standing) -> list[Difference]:
    """Every difference, in the order of kinds, subjects and facts. What the drawing and the register never shared is
    no difference: gone is what an earlier reading of the same drawing held and the register still does."""
    beside, earlier = Beside(drawing, standing), list(earlier)
    found = [
        *_of_loops(beside),
        *(one for function in drawing.functions for one in _of_function(beside, function, earlier)),
        *(one for line in drawing.lines for one in _of_line(beside, line)),
        *_gone(beside, earlier),
    ]
    order = list(Kind), list(Fact)
    return sorted(found, key=lambda one: (order[0].index(one.kind), order[1].index(one.fact), one.subject))


def line_subject(beside: Beside, line: Line) -> str:
    return f"{beside.name(line.source)} → {beside.name(line.target)}"


def _retired(subject: str, on: object) -> Difference:
    said = _("retired on %(day)s") % {"day": on}
    return Difference(Kind.CONTRADICTED, subject, Fact.IN_SERVICE, _("drawn"), said)


def _of_loops(beside: Beside) -> Iterator[Difference]:
    for drawn, held in beside.loops.items():
        if held is None:
            yield Difference(Kind.ADDED, drawn, Fact.LOOP, _("drawn"))
        elif held[1]:
            yield _retired(held[0], held[1])


def _of_function(beside: Beside, one: Function, earlier: list[Drawing]) -> Iterator[Difference]:
    held = beside.tag(one.tag)
    if held is None:
        yield Difference(Kind.ADDED, one.tag, Fact.TAG, ", ".join(filter(None, (one.role, one.place))))
        return
    if held.retired_on:
        yield _retired(held.name, held.retired_on)
    loop = beside.loop_number(one.loop)
    if held.loop != loop:
        yield Difference(Kind.CONTRADICTED, held.name, Fact.MEMBER_OF, loop, held.loop)
    if held.role not in one.does.roles:
        yield Difference(Kind.CONTRADICTED, held.name, Fact.ROLE, one.role, held.role)
    for fact, drawn, there in (
        (Fact.LOCATION, one.location, held.location),
        (Fact.FAIL_POSITION, one.fail_position, held.fail_position),
        (Fact.PLACE, one.place, held.place),
        (Fact.DESCRIPTION, one.description, held.description),
    ):
        if drawn and not there:
            yield Difference(Kind.ADDED, held.name, fact, drawn)
        elif drawn and _contradicts(fact, one, held, earlier):
            yield Difference(Kind.CONTRADICTED, held.name, fact, drawn, there)


def _contradicts(fact: Fact, one: Function, held: HeldTag, earlier: list[Drawing]) -> bool:
    """People describe a place in words of their own: those contradict only where they came from an earlier drawing."""
    if fact is Fact.LOCATION:
        return not agree(one.location, held.location)
    if fact is Fact.FAIL_POSITION:
        return one.fail_position != held.fail_position
    drawn, there = (one.place, held.place) if fact is Fact.PLACE else (one.description, held.description)
    before = (each for drawing in earlier for each in drawing.functions if squeezed(each.tag) == squeezed(one.tag))
    return drawn != there and any(there in (each.place, each.description) for each in before)


def _of_line(beside: Beside, line: Line) -> Iterator[Difference]:
    if beside.joined(line):
        return
    subject = line_subject(beside, line)
    if rival := beside.rival(line):
        port, feeder = rival
        said = _("%(feeder)s feeds the port %(port)s") % {"feeder": feeder, "port": port}
        yield Difference(Kind.CONTRADICTED, subject, Fact.LINE, _("drawn"), said)
    else:
        yield Difference(Kind.ADDED, subject, Fact.LINE, line.kind or _("drawn"))


def _gone(beside: Beside, earlier: list[Drawing]) -> Iterator[Difference]:
    drawing, standing = beside.drawing, beside.standing
    tags = {squeezed(one.tag) for one in drawing.functions}
    loops = {squeezed(one) for one in drawing.loops}
    lines = {(squeezed(one.source), squeezed(one.target)) for one in drawing.lines}
    for number in {squeezed(one) for before in earlier for one in before.loops} - loops:
        held = standing.loops.get(number)
        if held and not held[1] and held[0] not in {one[0] for one in beside.loops.values() if one}:
            yield Difference(Kind.GONE, held[0], Fact.LOOP, "", _("in service"))
    for tag in {squeezed(one.tag) for before in earlier for one in before.functions} - tags:
        held = standing.tags.get(tag)
        if held and not held.retired_on:
            yield Difference(Kind.GONE, held.name, Fact.TAG, "", held.role)
    linked = {(squeezed(source[0]), squeezed(target[0])) for target, source in standing.fed_by.items()}
    before = {(squeezed(one.source), squeezed(one.target)) for drawn in earlier for one in drawn.lines}
    for source, target in (before - lines) & linked:
        if source in tags and target in tags:
            names = Line(standing.tags[source].name, standing.tags[target].name)
            yield Difference(Kind.GONE, line_subject(beside, names), Fact.LINE, "", _("linked"))
