"""Rows kept small: packed and compressed some thousands together, and given back exactly as they were."""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from functools import cached_property
from itertools import islice
from typing import Any, TypeVar

import msgspec
from django.db import models

from register.models.fields import QuantityField

T = TypeVar("T")

TOGETHER = 2000
"""Rows in a block, and the most that are unpacked at any moment."""

_pack = msgspec.msgpack.Encoder().encode


def pack(value: Any) -> bytes:
    """Lists, texts, numbers and the like, compressed."""
    return zlib.compress(_pack(value), 1)


def unpack(packed: bytes) -> Any:
    return msgspec.msgpack.decode(zlib.decompress(packed))


def together(rows: Iterable[T]) -> Iterator[list[T]]:
    """The rows some at a time."""
    left = iter(rows)
    while some := list(islice(left, TOGETHER)):
        yield some


def column_of(model: type[models.Model], path: str) -> models.Field:
    """The column where the fact of a lookup path is kept at last."""
    for part in path.split("__"):
        found = model._meta.get_field(part)
        model = found.related_model
    return found


def _type_of(column: models.Field) -> Any:
    if column.many_to_many:
        return tuple[str, ...]
    if isinstance(column, QuantityField):
        return Decimal | None
    if isinstance(column, models.DateField):
        return date | None
    if isinstance(column, models.BooleanField):
        return bool | None
    return int | None if isinstance(column, models.IntegerField) else str | None


class Row(msgspec.Struct, frozen=True):
    """One row to import: its number in its sheet, and its facts by lookup path.

    A fact that could not be read is left out: nothing more is said of it, and nothing may be imported.
    """

    number: int
    facts: dict[str, Any]


class PackedRows:
    """Rows of one table that all have the same columns. They are added at the end and read from the start."""

    def __init__(self, model: type[models.Model], paths: tuple[str, ...], blocks: Iterable[tuple[int, bytes]] = ()):
        self.model, self.paths = model, paths
        self._blocks = list(blocks)
        self._open: list[Row] = []

    def __len__(self) -> int:
        return sum(size for size, _ in self._blocks) + len(self._open)

    def append(self, row: Row) -> None:
        self._open.append(row)
        if len(self._open) == TOGETHER:
            self._close()

    def __iter__(self) -> Iterator[Row]:
        for _, block in self._blocks:
            yield from self._rows(block)
        yield from self._open

    def blocks(self) -> list[tuple[int, bytes]]:
        """All of it: how many rows are in each block, and the block."""
        self._close()
        return self._blocks

    def _close(self) -> None:
        if self._open:
            lines = [
                (row.number, [row.facts.get(path) for path in self.paths], self._absent(row)) for row in self._open
            ]
            self._blocks.append((len(lines), pack(lines)))
            self._open = []

    def _absent(self, row: Row) -> list[int]:
        """Places of the facts that the row lacks."""
        if len(row.facts) == len(self.paths):
            return []
        return [place for place, path in enumerate(self.paths) if path not in row.facts]

    @cached_property
    def _decoder(self) -> msgspec.msgpack.Decoder:
        # Where a fact is absent, its place holds nothing, which a list of names cannot be.
        types = tuple(_type_of(column_of(self.model, path)) | None for path in self.paths)
        return msgspec.msgpack.Decoder(list[tuple[int, tuple[types], list[int]]])

    def _rows(self, block: bytes) -> Iterator[Row]:
        for number, values, absent in self._decoder.decode(zlib.decompress(block)):
            facts = dict(zip(self.paths, values, strict=True))
            for place in absent:
                del facts[self.paths[place]]
            yield Row(number, facts)


def packed(model: type[models.Model], paths: tuple[str, ...], rows: Iterable[Row]) -> PackedRows:
    """The rows packed, unless they are already."""
    if isinstance(rows, PackedRows):
        return rows
    made = PackedRows(model, paths)
    for row in rows:
        made.append(row)
    return made
