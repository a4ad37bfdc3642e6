"""P&IDs that were read: what each said, so that what is gone from a drawing can be told from what it never held."""

from __future__ import annotations

from django.db import models

from register.models.accounts import User
from register.models.fields import text


class DrawingReadingQuerySet(models.QuerySet):
    def latest_of_each(self) -> DrawingReadingQuerySet:
        """Of each drawing the reading that was made last."""
        newer = self.model.objects.filter(drawing=models.OuterRef("drawing"), read_at__gt=models.OuterRef("read_at"))
        return self.filter(~models.Exists(newer))


class DrawingReading(models.Model):
    """One state of a drawing. ``said`` is a :class:`register.exchange.dexpi.drawing.Drawing` as JSON.

    The same file sent again is the same reading, read anew.
    """

    drawing = models.CharField(max_length=120)
    revision = text(40)
    file_name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    said = models.JSONField()
    read_at = models.DateTimeField()
    by = models.ForeignKey(User, models.PROTECT, related_name="drawings_read")

    objects = DrawingReadingQuerySet.as_manager()

    class Meta:
        ordering = ["-read_at", "-pk"]
        constraints = [models.UniqueConstraint("drawing", "sha256", name="a_state_of_a_drawing_is_kept_once")]

    def __str__(self) -> str:
        return f"{self.drawing}, {self.revision}" if self.revision else self.drawing

    def others(self) -> DrawingReadingQuerySet:
        """The other readings of the same drawing."""
        return DrawingReading.objects.filter(drawing=self.drawing).exclude(pk=self.pk)
