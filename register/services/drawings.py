"""Keeping what a drawing said."""

from __future__ import annotations

import hashlib
from typing import Any

from django.utils import timezone

from register.models import DrawingReading, User
from register.services.permissions import May, require


def keep_reading(
    data: bytes, said: dict[str, Any], *, drawing: str, revision: str, file_name: str, by: User
) -> DrawingReading:
    """Keep a drawing as it was read from a file; the same file again is the same reading, read anew."""
    require(by, May.IMPORT)
    facts = {"revision": revision, "said": said, "file_name": file_name[:200], "read_at": timezone.now(), "by": by}
    return DrawingReading.objects.update_or_create(
        drawing=drawing, sha256=hashlib.sha256(data).hexdigest(), defaults=facts
    )[0]
