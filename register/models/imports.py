"""Imports: what was sent, what it would do, what it did, and whether it was undone. Kept for ever."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from register.models.accounts import User
from register.models.fields import text
from register.models.records import Job


class ImportState(models.TextChoices):
    EXAMINED = "examined", _("being examined")
    PROPOSED = "proposed", _("proposed")
    REFUSED = "refused", _("refused")
    RUNNING = "running", _("being imported")
    IMPORTED = "imported", _("imported")
    UNDOING = "undoing", _("being undone")
    UNDONE = "undone", _("undone")
    CANCELLED = "cancelled", _("cancelled")


class ImportRun(models.Model):
    """One import from its proposal on. ``counts`` has added, changed and unchanged rows by table.

    ``lines`` and ``findings`` of the proposal lie in its parts, as do the rows themselves. ``message`` says why the
    last step came to nothing.
    """

    name = models.CharField(max_length=200)
    kind = models.CharField(max_length=20)
    sha256 = models.CharField(max_length=64)
    by = models.ForeignKey(User, models.PROTECT, related_name="imports")
    at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=ImportState, default=ImportState.EXAMINED)
    message = text(1000)
    rows = models.PositiveIntegerField(default=0)
    counts = models.JSONField(default=dict)
    problems = models.PositiveIntegerField(default=0)
    appear = models.PositiveIntegerField("findings that appear", null=True, blank=True)
    clear = models.PositiveIntegerField("findings that clear", null=True, blank=True)
    fingerprint = text(64)
    outline = models.JSONField(default=dict)
    job = models.ForeignKey(Job, models.SET_NULL, null=True, blank=True, related_name="imports")
    imported_at = models.DateTimeField(null=True, blank=True)
    imported_by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="imports_confirmed")
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="imports_undone")
    undone_because = text(300)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.name

    def parts_of(self, holds: str) -> int:
        """How many lines of a kind are kept."""
        return self.parts.filter(holds=holds).aggregate(lines=models.Sum("size"))["lines"] or 0

    @property
    def added(self) -> int:
        return sum(added for added, _, _ in self.counts.values())

    @property
    def changed(self) -> int:
        return sum(changed for _, changed, _ in self.counts.values())


class PartHolds(models.TextChoices):
    ROWS = "rows"
    LINES = "lines"
    PROBLEMS = "problems"
    FINDINGS = "findings"
    WRITTEN = "written"
    REMOVED = "removed"


class ImportPart(models.Model):
    """Some of what belongs to an import, packed: rows as they were read, lines of its dry run, what it wrote."""

    run = models.ForeignKey(ImportRun, models.CASCADE, related_name="parts")
    holds = models.CharField(max_length=10, choices=PartHolds)
    table = text(40)
    place = models.PositiveIntegerField()
    size = models.PositiveIntegerField()
    packed = models.BinaryField()

    class Meta:
        ordering = ["run", "holds", "place"]
        constraints = [models.UniqueConstraint("run", "holds", "place", name="an_import_has_each_part_once")]

    def __str__(self) -> str:
        return f"{self.holds} {self.place} of {self.run}"
