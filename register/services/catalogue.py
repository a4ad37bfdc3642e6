"""Corrections of the catalogue, and what they do to every loop that uses the model."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from register.models import CatalogueModel, Loop, Tag, User
from register.services.permissions import May, require
from register.services.recording import record

CHUNK = 500
"""Loops recorded together, which bounds memory for a model that is everywhere."""


def correct_model(model: CatalogueModel, facts: Mapping[str, Any], *, by: User, reason: str) -> int:
    """Set facts of a model, then record and check every loop that uses it, in one transaction.

    Returns how many loops those are. Raises ValidationError, which names the fields, and NotAllowed.
    """
    require(by, May.EDIT_REGISTER)
    with transaction.atomic():
        for column, fact in facts.items():
            setattr(model, column, fact)
        model.full_clean()
        model.save()
        pks = loops_using(model)
        at = timezone.now()
        for start in range(0, len(pks), CHUNK):
            record(pks[start : start + CHUNK], by=by, reason=f"{model} corrected in the catalogue: {reason}", at=at)
    return len(pks)


def loops_using(model: CatalogueModel) -> list[int]:
    """Loops in service at one of whose tags the model is specified, installed or fitted as a board."""
    current = Q(installations__to_date__isnull=True)
    boards = Q(
        installations__asset__board_fittings__model=model, installations__asset__board_fittings__to_date__isnull=True
    )
    tags = Tag.objects.filter(
        Q(specified=model) | (current & Q(installations__asset__model=model)) | (current & boards)
    )
    return list(Loop.objects.in_service().filter(pk__in=tags.values("loop_id")).values_list("pk", flat=True))
