"""What a rule is, how it registers, and how a loop is checked. The engine knows no rule."""

from __future__ import annotations

import hashlib
import importlib
import pkgutil
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

import msgspec

from register.calc.errors import CalculationError
from register.plant.values import Loop
from register.plant.words import Severity


class Finding(msgspec.Struct, frozen=True):
    """One thing that a rule says of a tag: what is wrong in numbers or, when unknown, which fact is missing.

    Subject (a tag's name, or the loop's number) and place (a port, an alarm, a bay, a link) are its identity within
    the rule. The facts are what the message states: a concession holds while they stay the same.
    """

    subject: str
    message: str
    place: str = ""
    facts: dict[str, str] = {}
    unknown: bool = False

    @property
    def text(self) -> str:
        return self.message.format_map(self.facts)

    @property
    def facts_sha256(self) -> str:
        return hashlib.sha256(msgspec.json.encode(self.facts, order="sorted")).hexdigest()


def finding(subject: object, message: str, *, place: str = "", **facts: object) -> Finding:
    """What is wrong: ``message`` is a format string over the facts."""
    return Finding(_name(subject), message, place, {key: str(value) for key, value in facts.items()})


def unknown(subject: object, message: str, *, place: str = "", **facts: object) -> Finding:
    """The rule cannot tell: the message says which fact is missing."""
    return Finding(_name(subject), message, place, {key: str(value) for key, value in facts.items()}, unknown=True)


def _name(subject: object) -> str:
    return subject if isinstance(subject, str) else getattr(subject, "name", None) or subject.number


@dataclass(frozen=True)
class Tolerance:
    """A limit that a plant may set for itself."""

    value: Decimal
    unit: str


@dataclass(frozen=True)
class Rule:
    slug: str
    theme: str
    severity: Severity
    source: str
    check: Callable[..., Iterable[Finding]]
    wrong: Loop
    right: Loop
    title: str
    explanation: str
    why: str
    remedy: str
    tolerance: Tolerance | None = None

    def findings(self, loop: Loop, tolerance: Decimal | None = None) -> Iterator[Finding]:
        """What the rule says of a loop, at its own tolerance or the plant's.

        What it says of a neighbour is left out: the neighbour's own loop, which sees the same link, says it. Where a
        recorded fact cannot be calculated with, the rule cannot tell, and says which fact and why.
        """
        limits = () if self.tolerance is None else (self.tolerance.value if tolerance is None else tolerance,)
        try:
            for one in self.check(loop, *limits):
                if one.subject == loop.number or loop.owns(one.subject):
                    yield one
        except CalculationError as fault:
            yield unknown(loop, "a recorded fact cannot be used: {fault}", fault=fault)


_registry: dict[str, Rule] = {}


def rule(
    slug: str,
    *,
    severity: Severity,
    source: str,
    wrong: Loop,
    right: Loop,
    tolerance: tuple[str, str] | None = None,
) -> Callable[[Callable], Callable]:
    """Register a function of a loop (and of the tolerance, where one is given as value and unit) as a rule.

    The docstring is the rule's page: its first line states what is right, then come ``Why:`` and ``Remedy:``
    paragraphs, with explanation between them where the first line is not enough. ``wrong`` and ``right`` are the
    loops drawn on that page; the tests run the rule on both.
    """

    def register(check: Callable) -> Callable:
        if slug in _registry:
            raise ValueError(f"two rules are named {slug}")
        title, explanation, why, remedy = _sections(slug, check.__doc__ or "")
        _registry[slug] = Rule(
            slug=slug,
            theme=check.__module__.split(".")[-2].replace("_", " "),
            severity=severity,
            source=source,
            check=check,
            wrong=wrong,
            right=right,
            title=title,
            explanation=explanation,
            why=why,
            remedy=remedy,
            tolerance=Tolerance(Decimal(tolerance[0]), tolerance[1]) if tolerance else None,
        )
        return check

    return register


def _sections(slug: str, docstring: str) -> tuple[str, str, str, str]:
    paragraphs = [" ".join(paragraph.split()) for paragraph in docstring.split("\n\n")]
    why = [text.removeprefix("Why: ") for text in paragraphs if text.startswith("Why: ")]
    remedy = [text.removeprefix("Remedy: ") for text in paragraphs if text.startswith("Remedy: ")]
    if len(why) == 0 and len(remedy) == 0 and "Why:" in docstring:
        raise ValueError(f"{slug}: a blank line must stand before Why: and Remedy:")
    rest = [text for text in paragraphs if text and not text.startswith(("Why: ", "Remedy: "))]
    if not (rest and why and remedy):
        raise ValueError(f"{slug}: the docstring needs a first line, a Why: and a Remedy: paragraph")
    return rest[0], " ".join(rest[1:]), " ".join(why), " ".join(remedy)


@cache
def all_rules() -> Mapping[str, Rule]:
    """Every rule by its slug, ordered by theme and slug."""
    package = importlib.import_module("register.rules")
    for module in pkgutil.walk_packages(package.__path__, "register.rules."):
        importlib.import_module(module.name)
    return dict(sorted(_registry.items(), key=lambda item: (item[1].theme, item[0])))


class Verdict(msgspec.Struct, frozen=True):
    """A finding and the rule that made it."""

    rule: str
    severity: Severity
    finding: Finding

    @property
    def identity(self) -> tuple[str, str, str]:
        return (self.rule, self.finding.subject, self.finding.place)


class PlantRules(msgspec.Struct, frozen=True):
    """How a plant has set the rules for a loop's area: tolerances of its own, and rules switched off."""

    tolerances: dict[str, Decimal] = {}
    off: frozenset[str] = frozenset()


AS_WRITTEN = PlantRules()


def check(loop: Loop, plant_rules: PlantRules = AS_WRITTEN) -> tuple[Verdict, ...]:
    """What all rules say of a loop; one verdict for each identity, the first said."""
    verdicts: dict[tuple[str, str, str], Verdict] = {}
    for slug, one in all_rules().items():
        if slug in plant_rules.off:
            continue
        for found in one.findings(loop, plant_rules.tolerances.get(slug)):
            verdict = Verdict(slug, one.severity, found)
            verdicts.setdefault(verdict.identity, verdict)
    return tuple(verdicts.values())
