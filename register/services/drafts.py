"""Unfinished swaps: kept at every step, and recorded once however often they are sent."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from types import EllipsisType
from uuid import UUID

from django.db import transaction

from register.models import Revision, SwapDraft, Tag, User
from register.services.permissions import May, require
from register.services.recording import Refused


def swap_draft(tag: Tag, *, by: User) -> SwapDraft:
    """The person's open draft at the tag; where there is none, one that is not kept before something is typed."""
    require(by, May.RECORD_WORK)
    kept = SwapDraft.objects.open().filter(by=by, tag=tag).first()
    return kept or SwapDraft(by=by, tag=tag, seen_revision=tag.loop.revision)


class KeptElsewhere(Exception):
    """The draft was changed, begun or ended elsewhere after this was typed."""


def keep_step(
    tag: Tag, step: str, typed: Mapping[str, str], *, by: User, on_top_of: datetime | None | EllipsisType = ...
) -> SwapDraft:
    """Keep what was typed at a step, right or wrong. A draft begins on the loop's present revision.

    ``on_top_of`` is when the draft was kept that this was typed on (None: there was none). Raises KeptElsewhere where
    the draft is another by now.
    """
    require(by, May.RECORD_WORK)
    with transaction.atomic():
        drafts = SwapDraft.objects.open().select_for_update()
        standing = drafts.filter(by=by, tag=tag).first()
        if on_top_of is not ... and on_top_of != (standing.kept_at if standing else None):
            raise KeptElsewhere
        draft, _ = drafts.get_or_create(by=by, tag=tag, defaults={"seen_revision": tag.loop.revision})
        draft.typed[step] = dict(typed)
        draft.save(update_fields=["typed", "kept_at"])
    return draft


def see_revision(draft: SwapDraft, number: int) -> None:
    """The person was shown what others changed up to a revision."""
    draft.seen_revision = number
    draft.save(update_fields=["seen_revision", "kept_at"])


def discard(tag: Tag, *, by: User) -> None:
    SwapDraft.objects.open().filter(by=by, tag=tag).delete()


def record_once(token: UUID, write: Callable[[SwapDraft], Revision], *, by: User) -> Revision:
    """Record a draft. Sent again, it gives the revision that it made the first time."""
    with transaction.atomic():
        draft = SwapDraft.objects.select_for_update().filter(token=token, by=by).first()
        if draft is None:
            raise Refused("This swap was given up, here or in another window. Begin it anew.")
        if draft.recorded_id is None:
            draft.recorded = write(draft)
            draft.save(update_fields=["recorded"])
        return draft.recorded
