"""A reading kept in the database from its proposal on, and given back as it was read."""

from __future__ import annotations

from itertools import islice
from typing import Any

from django.apps import apps
from django.db import models

from register.exchange.reading import Origin, Reading
from register.models import ImportPart, ImportRun
from register.models.imports import PartHolds
from register.services.importing import Sheet
from register.services.packing import PackedRows, pack, packed

Model = type[models.Model]


def name_of(model: Model) -> str:
    return model._meta.model_name


def model_of(name: str) -> Model:
    return apps.get_model("register", name)


def keep(run: ImportRun, reading: Reading) -> None:
    """Save a run with what was read. Problems are kept as the dry run tells them."""
    run.rows = sum(len(sheet.rows) for sheet in reading.sheets.values())
    run.outline = {
        "paths": {name_of(model): list(sheet.paths) for model, sheet in reading.sheets.items()},
        "unread": [name_of(model) for model in reading.unread],
        "not_read": reading.not_read,
        "origin": _outlined(reading.origin),
    }
    run.save()
    place, parts = 0, []
    for model, sheet in reading.sheets.items():
        rows = packed(model, sheet.paths, sheet.rows)
        for size, block in rows.blocks():
            parts.append(_part(run, PartHolds.ROWS, place, size, block, name_of(model)))
            place += 1
    ImportPart.objects.bulk_create(parts, batch_size=20)


def kept(run: ImportRun) -> Reading:
    """The reading of a run, without its problems."""
    blocks: dict[str, list[tuple[int, bytes]]] = {}
    parts = run.parts.filter(holds=PartHolds.ROWS).order_by("place")
    for table, size, block in parts.values_list("table", "size", "packed"):
        blocks.setdefault(table, []).append((size, bytes(block)))
    sheets = {}
    for table, paths in run.outline["paths"].items():
        model, paths = model_of(table), tuple(paths)
        sheets[model] = Sheet(paths, PackedRows(model, paths, blocks.get(table, [])))
    return Reading(
        sheets=sheets,
        unread={model_of(name) for name in run.outline["unread"]},
        not_read=run.outline["not_read"],
        origin=_origin(run.outline["origin"]),
    )


def _outlined(origin: Origin | None) -> Any:
    if origin is None:
        return None
    places = [[name_of(model), path, heading] for (model, path), heading in origin.headings.items()]
    return {"sheet": origin.sheet, "headings": places}


def _origin(outlined: Any) -> Origin | None:
    if outlined is None:
        return None
    return Origin(outlined["sheet"], {(model_of(name), path): heading for name, path, heading in outlined["headings"]})


def keep_lines(run: ImportRun, holds: str, lines, together: int) -> int:
    """Keep lines of a run, so many to a part, in place of those kept before. Returns how many they are."""
    run.parts.filter(holds=holds).delete()
    whole, left = 0, iter(lines)
    for place in range(10**6):
        some = list(islice(left, together))
        if not some:
            break
        whole += len(some)
        _part(run, holds, place, len(some), pack(some)).save()
    return whole


def _part(run: ImportRun, holds: str, place: int, size: int, block: bytes, table: str = "") -> ImportPart:
    return ImportPart(run=run, holds=holds, table=table, place=place, size=size, packed=block)
