"""What differs between two loops, fact by fact, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import msgspec

from register.calc.ranges import Range
from register.plant.values import Loop, Model, Surroundings

Path = tuple[tuple[str, str], ...]
"""Where a fact stands, from the outside in: fields, each with what tells one of several apart, such as (("tags",
"TIC-101"), ("place", ""))."""


class Change(msgspec.Struct, frozen=True):
    """One fact that differs: where it is, and both values as text ("" where absent)."""

    path: Path
    old: str
    new: str

    @property
    def where(self) -> str:
        """ "TIC-101 settings"; "" for a fact of the loop itself."""
        return " ".join(map(_step_words, self.path[:-1]))

    @property
    def what(self) -> str:
        return _step_words(self.path[-1])

    def __str__(self) -> str:
        place = f"{self.where}: {self.what}" if self.where else self.what
        if not self.old:
            return f"{place} added: {self.new}"
        if not self.new:
            return f"{place} removed: was {self.old}"
        return f"{place} {self.old} → {self.new}"


def changes(old: Loop, new: Loop) -> tuple[Change, ...]:
    """Every fact that differs, in the order in which the loops state them."""
    return differences(dict(_walk((), old)), dict(_walk((), new)))


def facts_of_model(model: Model) -> dict[Path, str]:
    """Every fact of a catalogue model, its ports and its bays, as text by where it stands."""
    found: dict[Path, str] = {}
    for field, fact in _fields(model):
        if field == "ports":
            for port in fact:
                found |= _walk(((field, f"{port.direction}put {port.name}"),), port)
        elif field == "bays":
            for bay in fact:
                found[(field, f"bay {bay.name}"), ("takes", "")] = ", ".join(bay.takes) or "nothing"
        else:
            found |= _walk(((field, ""),), fact)
    return found


def differences(before: Mapping[Path, str], after: Mapping[Path, str]) -> tuple[Change, ...]:
    """Every fact that differs, in the order of the first and then of the second."""
    return tuple(
        Change(path, before.get(path, ""), after.get(path, ""))
        for path in {**before, **after}
        if before.get(path, "") != after.get(path, "")
    )


def _walk(path: Path, fact: Any) -> Iterator[tuple[Path, str]]:
    """Path and text of each fact under a value. A model is one fact, its name: what it can do is the catalogue's."""
    if fact is None or fact == "" or fact is False or fact == () or isinstance(fact, Surroundings):
        return
    if isinstance(fact, (Model, Range)):
        yield path, str(fact)
    elif isinstance(fact, msgspec.Struct):
        for field, part in _fields(fact):
            if isinstance(part, tuple) and part and isinstance(part[0], msgspec.Struct):
                for position, item in enumerate(part, start=1):
                    yield from _walk((*path, (field, _label(field, item, position))), item)
            else:
                yield from _walk((*path, (field, "")), part)
    elif isinstance(fact, tuple):
        yield path, ", ".join(map(str, fact))
    else:
        yield path, "yes" if fact is True else str(fact)


def _fields(value: msgspec.Struct) -> Iterator[tuple[str, Any]]:
    """Names and values; a "no" where the answer could have been missing."""
    unsaid = _may_be_unsaid(type(value))
    for field in value.__struct_fields__:
        fact = getattr(value, field)
        yield field, "no" if fact is False and field in unsaid else fact


@cache
def _may_be_unsaid(kind: type[msgspec.Struct]) -> frozenset[str]:
    return frozenset(field.name for field in msgspec.structs.fields(kind) if field.default is None)


def _label(field: str, item: msgspec.Struct, position: int) -> str:
    """What tells an item from its neighbours in a list."""
    if field == "neighbours":
        return f"{item.loop} {item.name}"
    if hasattr(item, "target_port"):
        return f"link {item.label}"
    if hasattr(item, "bay") and not hasattr(item, "name"):
        return f"bay {item.bay}"
    if hasattr(item, "core"):
        return f"core {item.core} of {item.cable.name}"
    return getattr(item, "name", "") or getattr(item, "signal", "") or str(position)


def _step_words(step: tuple[str, str]) -> str:
    field, label = step
    return label or field.replace("_", " ")
