"""How complete a loop's record is, held against what a loop diagram must and may show.

Source: ANSI/ISA-5.4-1991, minimum required and optional information (the items from memory, in our own words).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from register.plant.values import Loop, Tag
from register.plant.words import Direction, Purpose, Role, SetPointSource

READERS = (Role.CONTROLLER, Role.INDICATOR, Role.RECORDER, Role.ALARM_UNIT)


@dataclass(frozen=True, slots=True)
class Item:
    """One kind of fact, and a function that names every place where it is missing."""

    slug: str
    asks: str
    minimum: bool
    missing: Callable[[Loop], Iterator[str]]


@dataclass(frozen=True, slots=True)
class Gap:
    """A fact that is missing: of which item, and where (a tag, a link, or the loop's number)."""

    item: str
    where: str


ITEMS: list[Item] = []


def item(slug: str, asks: str, *, minimum: bool) -> Callable[[Callable], Callable]:
    def register(missing: Callable[[Loop], Iterator[str]]) -> Callable:
        ITEMS.append(Item(slug, asks, minimum, missing))
        return missing

    return register


def gaps(loop: Loop) -> tuple[Gap, ...]:
    """Everything that is missing, minimum items first."""
    ordered = sorted(ITEMS, key=lambda one: not one.minimum)
    return tuple(Gap(one.slug, where) for one in ordered for where in one.missing(loop))


def score_percent(missing: tuple[Gap, ...]) -> int:
    """How many of the minimum items have no gap, in whole per cent, rounded down."""
    wanted = [one.slug for one in ITEMS if one.minimum]
    lacking = {gap.item for gap in missing}
    return 100 * sum(slug not in lacking for slug in wanted) // len(wanted)


@item("identity", "The loop has members, each of which a tag names.", minimum=True)
def _identity(loop: Loop) -> Iterator[str]:
    if not loop.tags:
        yield loop.number


@item("description", "What the loop is for is said in words.", minimum=True)
def _description(loop: Loop) -> Iterator[str]:
    if not loop.service:
        yield loop.number


@item("relations", "What comes from or goes to another loop is linked: a remote set point, a trip.", minimum=True)
def _relations(loop: Loop) -> Iterator[str]:
    for tag in loop.controllers:
        source = tag.settings.set_point_source if tag.settings else None
        if source in (SetPointSource.REMOTE, SetPointSource.LOCAL_OR_REMOTE) and not any(
            loop.links_into(tag, Purpose.REMOTE_SET_POINT)
        ):
            yield tag.name


@item("connections", "Every link runs from terminal to terminal by named cores.", minimum=True)
def _connections(loop: Loop) -> Iterator[str]:
    for link in loop.links:
        ends = [end for core in link.cores for end in (core.from_terminal, core.to_terminal)]
        if not ends or not all(ends):
            yield link.label


@item("locations", "Of each tag it is said whether it stands in field, junction box, rack or panel.", minimum=True)
def _locations(loop: Loop) -> Iterator[str]:
    yield from (tag.name for tag in loop.tags if tag.location is None)


@item("energy sources", "Of each tag that takes a supply, kind and voltage are recorded.", minimum=True)
def _energy_sources(loop: Loop) -> Iterator[str]:
    for tag in loop.tags:
        takes_one = tag.model is not None and tag.model.supply_low_v is not None
        if takes_one and (tag.supply_v is None or tag.supply_kind is None):
            yield tag.name


@item(
    "action and fail position", "A controller's action and a final element's fail position are recorded.", minimum=True
)
def _actions(loop: Loop) -> Iterator[str]:
    for tag in loop.tags:
        if (
            tag.role == Role.CONTROLLER
            and tag.ports_for(Purpose.CONTROL)
            and not (tag.settings and tag.settings.action)
        ):
            yield tag.name
        if tag.role == Role.FINAL_ELEMENT and fail_position(tag) is None:
            yield tag.name


def fail_position(tag: Tag):
    """As built, else the model's."""
    return tag.fail_position or (tag.model.fail_position if tag.model else None)


@item("places", "Each tag's place is described: which panel and row, which wall.", minimum=False)
def _places(loop: Loop) -> Iterator[str]:
    yield from (tag.name for tag in loop.tags if not tag.place)


@item("descriptions of tags", "Each tag says what it does.", minimum=False)
def _tag_descriptions(loop: Loop) -> Iterator[str]:
    yield from (tag.name for tag in loop.tags if not tag.description)


@item("makers and models", "What is fitted at each tag is known by maker, model and serial number.", minimum=False)
def _models(loop: Loop) -> Iterator[str]:
    yield from (tag.name for tag in loop.tags if tag.asset is None)


@item("ranges", "Each transmitter and each instrument that reads has its range.", minimum=False)
def _ranges(loop: Loop) -> Iterator[str]:
    reads = (tag for tag in loop.tags if tag.role in (Role.TRANSMITTER, *READERS))
    yield from (tag.name for tag in reads if tag.range is None and not _channels_have_ranges(tag))


def _channels_have_ranges(tag: Tag) -> bool:
    """Whether a recorder has its ranges where it has them: one for each channel."""
    channels = tag.ports_for(Purpose.RETRANSMISSION, Direction.IN)
    return tag.role == Role.RECORDER and bool(channels) and all(channel.range for channel in channels)


@item("settings", "Each controller has its settings.", minimum=False)
def _settings(loop: Loop) -> Iterator[str]:
    yield from (tag.name for tag in loop.controllers if tag.settings is None)


@item("calibration", "Each tag with a calibration interval has a calibration on record.", minimum=False)
def _calibration(loop: Loop) -> Iterator[str]:
    yield from (tag.name for tag in loop.tags if tag.calibration_interval_months and tag.calibration is None)
