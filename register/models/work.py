"""Work at the plant that is written up but not yet recorded, and changes made to many rows at once."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q

from register.models.accounts import User
from register.models.fields import text
from register.models.loops import Tag
from register.models.records import Revision


class BulkEdit(models.Model):
    """One field of many rows set at once. ``lines`` has a list for each row that changed.

    A line: the row's key and name, what the field held and was set to in words, and both as
    :func:`register.services.undoing.raw_value` gives them.
    """

    kind = models.CharField(max_length=10)
    column = models.CharField(max_length=60)
    lines = models.JSONField(default=list)
    by = models.ForeignKey(User, models.PROTECT, related_name="bulk_edits")
    at = models.DateTimeField()
    reason = models.CharField(max_length=300)
    work_order = text(60)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="bulk_edits_undone")
    undone_because = text(300)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.column.replace('_', ' ')} of {len(self.lines)} {self.kind}"


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
