"""Work at the plant that is written up but not yet recorded."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q

from register.models.accounts import User
from register.models.loops import Tag
from register.models.records import Revision


class SwapDraftQuerySet(models.QuerySet):
    def open(self) -> SwapDraftQuerySet:
        return self.filter(recorded__isnull=True)


class SwapDraft(models.Model):
    """A person's unfinished swap at a tag: what was typed at each step, and the revision it was begun on.

    Its token is sent with the swap; once ``recorded`` names the revision that came of it, sending again changes
    nothing.
    """

    by = models.ForeignKey(User, models.CASCADE, related_name="swap_drafts")
    tag = models.ForeignKey(Tag, models.CASCADE, related_name="swap_drafts")
    token = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    seen_revision = models.PositiveIntegerField()
    typed = models.JSONField(default=dict)
    kept_at = models.DateTimeField(auto_now=True)
    recorded = models.ForeignKey(Revision, models.PROTECT, null=True, blank=True, related_name="swap_drafts")

    objects = SwapDraftQuerySet.as_manager()

    class Meta:
        ordering = ["-kept_at"]
        constraints = [
            models.UniqueConstraint(
                "by", "tag", condition=Q(recorded__isnull=True), name="one_open_swap_draft_per_person_and_tag"
            )
        ]

    def __str__(self) -> str:
        return f"Swap at {self.tag} by {self.by}"
