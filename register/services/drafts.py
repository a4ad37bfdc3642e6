"""Unfinished swaps: kept at every step, and recorded once however often they are sent."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from uuid import UUID

from django.db import transaction

from register.models import Revision, SwapDraft, Tag, User
from register.services.permissions import May, require
from register.services.recording import Refused


def swap_draft(tag: Tag, *, by: User) -> SwapDraft:
    """The person's open draft at the tag; begun on the loop's present revision where there is none."""
    require(by, May.RECORD_WORK)
    made, _ = SwapDraft.objects.open().get_or_create(by=by, tag=tag, defaults={"seen_revision": tag.loop.revision})
    return made


def keep_step(draft: SwapDraft, step: str, typed: Mapping[str, str]) -> None:
    """Keep what was typed at a step, right or wrong."""
    draft.typed[step] = dict(typed)
    draft.save(update_fields=["typed", "kept_at"])


def see_revision(draft: SwapDraft, number: int) -> None:
    """The person was shown what others changed up to a revision."""
    draft.seen_revision = number
    draft.save(update_fields=["seen_revision", "kept_at"])


def discard(draft: SwapDraft) -> None:
    draft.delete()


def record_once(token: UUID, write: Callable[[], Revision], *, by: User) -> Revision:
    """Record a draft. Sent again, it gives the revision that it made the first time."""
    with transaction.atomic():
        draft = SwapDraft.objects.select_for_update().filter(token=token, by=by).first()
        if draft is None:
            raise Refused("This swap was given up, here or in another window. Begin it anew.")
        if draft.recorded_id is None:
            draft.recorded = write()
            draft.save(update_fields=["recorded"])
        return draft.recorded
