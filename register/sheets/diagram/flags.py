"""Findings by number, and where in a diagram each has its flag."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from register.plant.values import Link, Loop
from register.plant.words import Severity
from register.rules.engine import Verdict


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


class Places:
    """Flags by the place that they belong to: the whole loop, a tag, one of its ports or bays, or a link."""

    def __init__(self, loop: Loop, flags: Iterable[Numbered]):
        self.of_loop: list[Numbered] = []
        self.of_tag: dict[str, list[Numbered]] = defaultdict(list)
        self.of_port: dict[tuple[str, str], list[Numbered]] = defaultdict(list)
        self.of_bay: dict[tuple[str, str], list[Numbered]] = defaultdict(list)
        self.of_link: dict[Link, list[Numbered]] = defaultdict(list)
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


def _at(loop: Loop, tag: str) -> list[Link]:
    return [link for link in loop.links if tag in (link.source_tag, link.target_tag)]


def _names(link: Link) -> Iterator[str]:
    """How a finding may name a link: by its ends, its cable, a core or a terminal on its way."""
    yield f"{link.source_tag} {link.source_port} → {link.target_tag} {link.target_port}"
    yield f"{link.source_tag} → {link.target_tag}"
    for core in link.cores:
        yield core.cable.name
        yield f"{core.cable.name} core {core.core}"
        yield f"{core.from_place} {core.from_terminal}"
        yield f"{core.to_place} {core.to_terminal}"
