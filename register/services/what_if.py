"""What a change would do to the findings, told before it is saved: the change is made and taken back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from register.models import Finding


@dataclass(frozen=True)
class Preview:
    """Findings that a change would make appear and clear, of every loop that it touches."""

    appear: list[Finding]
    clear: list[Finding]


def what_if(write: Callable[[], object]) -> Preview:
    """Run a service call, see which findings come and go, and undo it. Raises what the service raises."""
    began = timezone.now()
    with transaction.atomic():
        write()
        appear = list(Finding.objects.counted().filter(first_seen__gte=began).select_related("loop"))
        clear = list(Finding.objects.filter(cleared_at__gte=began).select_related("loop"))
        transaction.set_rollback(True)
    return Preview(appear, clear)
