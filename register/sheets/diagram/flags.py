"""Findings by number and changes since the last issue, and where in a diagram each has its flag."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import inf

from register.plant.diff import Change
from register.plant.values import Link, Loop, Tag
from register.plant.words import Severity
from register.rules.engine import Verdict
from register.sheets.diagram.measures import FLAG
from register.sheets.diagram.shapes import Box, ChangeMark, Drawing, Flag


@dataclass(frozen=True)
class Numbered:
    """A verdict and the number that it bears on the diagram and in the list of findings."""

    number: int
    verdict: Verdict


def numbered(verdicts: Iterable[Verdict]) -> tuple[Numbered, ...]:
    """Errors first; what a rule cannot tell comes last."""
    urgency = list(Severity)

    def key(verdict: Verdict) -> tuple:
        return (verdict.finding.unknown, urgency.index(verdict.severity), *verdict.identity)

    return tuple(Numbered(number, verdict) for number, verdict in enumerate(sorted(verdicts, key=key), start=1))


@dataclass(frozen=True)
class Changed:
    """Says of a place that something there differs from the last issue. It stands behind what has a number."""

    number: float = inf


Mark = Numbered | Changed


def put(drawing: Drawing, one: Mark, x: float, y: float) -> None:
    """Draw a flag with its upper left corner at a place."""
    box = Box(x, y, *FLAG)
    if isinstance(one, Changed):
        drawing.change_marks.append(ChangeMark(box))
    else:
        drawing.flags.append(Flag(box, one.number, one.verdict.severity, one.verdict.finding.unknown))


class Places:
    """Flags by the place that they belong to: the whole loop, a tag, one of its ports or bays, or a link."""

    def __init__(self, loop: Loop, flags: Iterable[Numbered], changes: Iterable[Change] = ()):
        self.of_loop: list[Mark] = []
        self.of_tag: dict[str, list[Mark]] = defaultdict(list)
        self.of_port: dict[tuple[str, str], list[Mark]] = defaultdict(list)
        self.of_bay: dict[tuple[str, str], list[Mark]] = defaultdict(list)
        self.of_link: dict[Link, list[Mark]] = defaultdict(list)
        links: dict[str, Link] = {}
        for link in loop.links:
            for name in _names(link):
                links.setdefault(name, link)
        for flag in flags:
            subject, place = flag.verdict.finding.subject, flag.verdict.finding.place
            tag = loop.tag(subject)
            if place in links:
                self.of_link[links[place]].append(flag)
            elif tag is None:
                self.of_loop.append(flag)
            elif tag.port(place) or any(place in (link.source_port, link.target_port) for link in _at(loop, subject)):
                self.of_port[subject, place].append(flag)
            elif alarm := next((one for one in tag.alarms if one.name == place and tag.port(one.output)), None):
                self.of_port[subject, alarm.output].append(flag)
            elif tag.model and tag.model.bay(bay := place.removeprefix("bay ")) is not None:
                self.of_bay[subject, bay].append(flag)
            else:
                self.of_tag[subject].append(flag)
        by_label = {f"link {link.label}": link for link in loop.links}
        for change in changes:
            self._mark(loop, by_label, change)

    def _mark(self, loop: Loop, links: dict[str, Link], change: Change) -> None:
        """Mark the place of a change: what is gone has none and is marked where it was, a fact of the whole loop is
        marked in the title block."""
        (field, label), *below = change.path
        if field == "tags":
            tag = loop.tag(label)
            place = self._of_tag(tag, below) if tag else self.of_loop
        elif field == "links":
            place = self.of_link[links[label]] if label in links else self.of_loop
        else:
            return
        if Changed() not in place:
            place.append(Changed())

    def _of_tag(self, tag: Tag, below: list[tuple[str, str]]) -> list[Mark]:
        (field, label), *further = below
        if field == "ports" and tag.port(label):
            return self.of_port[tag.name, label]
        driven = next((one.output for one in tag.alarms if one.name == label), "") if field == "alarms" else ""
        if tag.port(driven):
            return self.of_port[tag.name, driven]
        if field == "asset" and further and further[0][0] == "boards":
            bay = further[0][1].removeprefix("bay ")
            if tag.model and tag.model.bay(bay):
                return self.of_bay[tag.name, bay]
        return self.of_tag[tag.name]


def _at(loop: Loop, tag: str) -> list[Link]:
    return [link for link in loop.links if tag in (link.source_tag, link.target_tag)]


def _names(link: Link) -> Iterator[str]:
    """How a finding may name a link: by its ends, its cable, a core or a terminal on its way."""
    yield link.label
    yield f"{link.source_tag} → {link.target_tag}"
    for core in link.cores:
        yield core.cable.name
        yield f"{core.cable.name} core {core.core}"
        yield f"{core.from_place} {core.from_terminal}"
        yield f"{core.to_place} {core.to_terminal}"
