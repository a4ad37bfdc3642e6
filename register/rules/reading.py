"""What stands at the two ends of a connection: what is sent, what the reader is set to, what lies between."""

from __future__ import annotations

from collections.abc import Iterator

from register.calc.ranges import Range
from register.plant.values import Connection, Loop, Port, Tag
from register.plant.words import Direction, Purpose, Role

SENSOR_KINDS = ("pt", "tc-")
"""How the keys of platinum elements' and couples' signals begin."""


def measuring_input(tag: Tag) -> Port | None:
    """The input that a tag's settings are for: its first for a measurement."""
    return next(
        (port for port in tag.ports if port.direction == Direction.IN and port.purpose == Purpose.MEASUREMENT), None
    )


def _is_set(one: Connection) -> bool:
    return one.target_tag.settings is not None and one.target is measuring_input(one.target_tag)


def read_signal(one: Connection) -> str:
    """The signal that the reader expects: what its input is set to, else what its port is recorded to take."""
    set_to = one.target_tag.settings.input_signal if _is_set(one) else ""
    return set_to or one.target.signal


def read_range(one: Connection) -> Range | None:
    """The range that the reader gives to 0 and 100 % of the signal: as set, else as recorded for its port."""
    set_to = one.target_tag.settings.range if _is_set(one) else None
    if set_to or one.target.range or one.target.purpose == Purpose.MEASUREMENT:
        return set_to or one.target.range
    return one.target_tag.range


def sent_range(loop: Loop, one: Connection) -> Range | None:
    """The range that is sent: the source port's or, through a barrier or isolator that states none, what enters it."""
    if one.source.range or one.source_tag.role != Role.SIGNAL_CONDITIONER:
        return one.source.range
    entering = _entering(loop, one)
    return entering.source.range if entering else None


def _entering(loop: Loop, one: Connection) -> Connection | None:
    """The one link that brings the same kind of thing into a conditioner; None where there are several."""
    found = [into for into in loop.links_into(one.source_tag) if into.target.purpose == one.source.purpose]
    return found[0] if len(found) == 1 else None


def passes_on(tag: Tag) -> bool:
    """Whether a conditioner states no range of its own, so that what enters it leaves it."""
    return tag.role == Role.SIGNAL_CONDITIONER and tag.range is None


def upstream(loop: Loop, one: Connection) -> Iterator[Connection]:
    """The links before a connection, back through conditioners to where the signal begins; nearest first."""
    seen = {one.source_tag.name, one.target_tag.name}
    while one.source_tag.role == Role.SIGNAL_CONDITIONER:
        entering = _entering(loop, one)
        if entering is None or entering.source_tag.name in seen:
            return
        yield entering
        seen.add(entering.source_tag.name)
        one = entering


def sensors_read(loop: Loop) -> Iterator[Connection]:
    """Links from a platinum element or a couple to what reads it."""
    for one in loop.connections():
        if one.source.purpose == Purpose.MEASUREMENT and one.source.signal.startswith(SENSOR_KINDS):
            yield one
