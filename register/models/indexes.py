"""Instrument indexes on their way in: the file, how it is read so far, and mappings kept for the next one."""

from __future__ import annotations

from django.db import models

from register.models.accounts import User
from register.models.fields import text
from register.models.imports import ImportRun


class IndexFile(models.Model):
    """A file that somebody sent, with the sheet that is read and, of a text, how it is written.

    ``mapping`` is a :class:`register.exchange.foreign.indexes.Mapping` as JSON; ``run`` is its last dry run.
    """

    name = models.CharField(max_length=200)
    data = models.BinaryField()
    sheet = text(255)
    encoding = text(20)
    separator = text(1)
    mapping = models.JSONField(default=dict)
    mapping_name = text(80)
    run = models.ForeignKey(ImportRun, models.SET_NULL, null=True, blank=True, related_name="index_files")
    by = models.ForeignKey(User, models.PROTECT, related_name="index_files")
    sent_at = models.DateTimeField()

    class Meta:
        ordering = ["-sent_at", "-pk"]

    def __str__(self) -> str:
        return self.name


class IndexMapping(models.Model):
    """A mapping under a name. ``columns`` says what stands under each heading, as it is compared."""

    name = models.CharField(max_length=80, unique=True)
    columns = models.JSONField(default=dict)
    patterns = models.TextField(blank=True)
    area = text(80)
    answers = models.JSONField(default=dict)
    by = models.ForeignKey(User, models.PROTECT, related_name="index_mappings")
    saved_at = models.DateTimeField()

    class Meta:
        ordering = ["-saved_at", "-pk"]

    def __str__(self) -> str:
        return self.name
