"""Instrument indexes that are on their way in, and the mappings that are kept for the next ones."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from register.models import IndexFile, IndexMapping, User
from register.services.permissions import May, require


def keep_file(*, name: str, data: bytes, by: User, **reads: Any) -> IndexFile:
    """Keep a file and how it is read: sheet, encoding, separator, mapping, mapping_name."""
    require(by, May.IMPORT)
    return IndexFile.objects.create(name=name[:200], data=data, by=by, sent_at=timezone.now(), **reads)


def read_otherwise(file: IndexFile, *, by: User, **reads: Any) -> IndexFile:
    """Keep how a file is read from now on; with ``data`` and ``name``, another file in its place."""
    require(by, May.IMPORT)
    for column, value in reads.items():
        setattr(file, column, value)
    if "data" in reads:
        file.by, file.sent_at = by, timezone.now()
        reads = reads | {"by": by, "sent_at": file.sent_at}
    file.save(update_fields=list(reads))
    return file


def discard_file(file: IndexFile, *, by: User) -> None:
    """A file that was only on its way in says nothing of the plant, so nothing of it is kept."""
    require(by, May.IMPORT)
    file.delete()


def save_mapping(name: str, *, by: User, **reads: Any) -> IndexMapping:
    """Keep a mapping under a name; one of that name is replaced."""
    require(by, May.IMPORT)
    defaults = reads | {"by": by, "saved_at": timezone.now()}
    return IndexMapping.objects.update_or_create(name=name[:80], defaults=defaults)[0]
