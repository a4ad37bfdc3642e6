"""What a drawing says of instruments, as a plain value: by tags and words, never by the identifiers of its file."""

from __future__ import annotations

from enum import StrEnum
from typing import Any

import msgspec

from register.plant.words import FailPosition, Location, Role


class Does(StrEnum):
    """What a function does, by where the drawing has it."""

    MEASURES = "measures"
    HANDLES = "handles"
    ACTS = "acts"

    @property
    def roles(self) -> tuple[Role, ...]:
        """The roles that a tag of it can have, the usual one first."""
        return ROLES[self]


ROLES = {
    Does.MEASURES: (Role.SENSOR, Role.TRANSMITTER, Role.SIGNAL_CONDITIONER),
    Does.HANDLES: (
        Role.INDICATOR,
        Role.CONTROLLER,
        Role.RECORDER,
        Role.ALARM_UNIT,
        Role.SET_POINT_SOURCE,
        Role.SIGNAL_CONDITIONER,
        Role.TRANSMITTER,
    ),
    Does.ACTS: (Role.FINAL_ELEMENT, Role.SIGNAL_CONDITIONER),
}


class Function(msgspec.Struct, frozen=True):
    """A function and the tag that carries it. What the drawing does not say is empty."""

    tag: str
    loop: str
    does: Does
    role: Role
    location: Location | None = None
    place: str = ""
    description: str = ""
    fail_position: FailPosition | None = None


class Line(msgspec.Struct, frozen=True, order=True):
    """A signal line from one tag to another; ``kind`` is what carries the signal, where the drawing says so."""

    source: str
    target: str
    kind: str = ""


class Drawing(msgspec.Struct, frozen=True):
    """A drawing as it was read. ``faults`` keep it out of the register; ``left_out`` is what nothing came of."""

    name: str
    title: str = ""
    revision: str = ""
    area_code: str = ""
    area_name: str = ""
    loops: tuple[str, ...] = ()
    functions: tuple[Function, ...] = ()
    lines: tuple[Line, ...] = ()
    faults: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return msgspec.to_builtins(self)


def from_json(said: dict[str, Any]) -> Drawing:
    return msgspec.convert(said, Drawing, strict=False)
