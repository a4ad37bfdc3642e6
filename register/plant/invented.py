"""An invented plant of any size: which design stands where, under which numbers. The same seed gives the same plant."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from random import Random

from register.plant.typicals import AREA, Typical, typicals
from register.plant.values import Model

DESIGNS = 400
"""Most designs of a plant: each is used hundreds of times in the largest."""
FEWEST_DESIGNS = 20
LOOPS_OF_AN_AREA = 250
AREAS_OF_A_UNIT = 8
FIRST_NUMBER = 10_001


@dataclass(frozen=True, slots=True)
class Use:
    """A design where it stands: the numbers of its loops, its area, and the minute of the day when it was recorded."""

    typical: Typical
    numbers: tuple[str, ...]
    area: str
    minute: int

    def named(self, text: str) -> str:
        """A text of the design as it reads here."""
        for mark, number in zip(self.typical.marks, self.numbers, strict=True):
            text = text.replace(mark, number)
        return text.replace(AREA, self.area)

    @property
    def found(self) -> tuple[tuple[str, str], ...]:
        """Rule and subject of everything that the rules must say of its loops."""
        return tuple((rule, self.named(subject)) for rule, subject in self.typical.found)


@dataclass(frozen=True, slots=True)
class Stock:
    """What the store holds of a model without serial numbers, the fewest that it should, and items with one."""

    model: Model
    place: str
    quantity: int
    minimum: int
    serials: tuple[str, ...]


@dataclass(frozen=True)
class Plant:
    loops: int
    seed: int
    today: date

    @cached_property
    def designs(self) -> tuple[Typical, ...]:
        drawn = typicals(Random(f"{self.seed} designs"), today=self.today)
        return tuple(next(drawn) for _ in range(min(DESIGNS, max(self.loops, FEWEST_DESIGNS))))

    @cached_property
    def models(self) -> tuple[Model, ...]:
        """The catalogue, by maker and name."""
        found = {str(model): model for design in self.designs for model in design.models}
        return tuple(found[name] for name in sorted(found))

    @property
    def areas(self) -> tuple[str, ...]:
        """Paths, each after the one above it."""
        count = -(-self.loops // LOOPS_OF_AN_AREA)
        units = -(-count // AREAS_OF_A_UNIT)
        paths = ["Works", *(f"Works / Unit {unit + 1}" for unit in range(units))]
        sections = (divmod(section, AREAS_OF_A_UNIT) for section in range(count))
        return (*paths, *(f"Works / Unit {unit + 1} / Section {section + 1}" for unit, section in sections))

    def uses(self) -> Iterator[Use]:
        """Every loop once, area by area."""
        random = Random(f"{self.seed} uses")
        small = [design for design in self.designs if len(design.group) == 1]
        sections = [path for path in self.areas if "Section" in path]
        made = 0
        while made < self.loops:
            design = random.choice(self.designs)
            if made + len(design.group) > self.loops:
                design = random.choice(small)
            numbers = tuple(str(FIRST_NUMBER + made + place) for place in range(len(design.group)))
            yield Use(design, numbers, sections[made // LOOPS_OF_AN_AREA], random.randrange(6 * 60, 18 * 60))
            made += len(design.group)

    def stock(self) -> Iterator[Stock]:
        random = Random(f"{self.seed} stock")
        for place, model in enumerate(self.models, start=1):
            serials = tuple(f"X{place:04}{item}" for item in range(random.randint(0, 3)))
            shelf = f"Main store {random.choice('ABCDEF')}{random.randint(1, 40)}"
            yield Stock(model, shelf, random.randint(0, 6), random.randint(0, 4), serials)
