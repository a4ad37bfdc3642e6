"""Sheets that were given out: issues of a loop's sheet, and packs of many. Kept for ever."""

from __future__ import annotations

from enum import StrEnum

from django.db import models
from django.db.models import Q

from register.models.accounts import User
from register.models.fields import text, word_field
from register.models.loops import Loop
from register.models.records import Job, Revision


class IssueState(StrEnum):
    DRAFTED = "drafted"
    CHECKED = "checked"
    APPROVED = "approved"


class SheetIssueQuerySet(models.QuerySet):
    def listed(self) -> SheetIssueQuerySet:
        """With the people and the revision that lists name, without sheets and snapshots."""
        people = ("drafted_by", "checked_by", "approved_by")
        return self.select_related("loop", "revision", *people).defer("sheet", "revision__compressed")

    def approved(self) -> SheetIssueQuerySet:
        return self.filter(state=IssueState.APPROVED)

    def under_way(self) -> SheetIssueQuerySet:
        return self.exclude(state=IssueState.APPROVED)

    def approved_by_moment(self, moment, loops) -> SheetIssueQuerySet:
        """The issues of these loops that were approved by a moment, each loop's latest last."""
        return self.approved().filter(loop__in=loops, approved_at__lte=moment).order_by("loop", "number")


class SheetIssue(models.Model):
    """One revision of a loop, drafted, checked and approved as its sheet.

    Three people do it; where one did more than one part, ``exception`` says why. An approved issue is never changed:
    ``sheet`` holds the very bytes that were approved, so that it can be fetched when the register draws differently.
    """

    loop = models.ForeignKey(Loop, models.PROTECT, related_name="issues")
    number = models.PositiveIntegerField()
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="issues")
    state = word_field(IssueState, default=IssueState.DRAFTED)
    drafted_by = models.ForeignKey(User, models.PROTECT, related_name="issues_drafted")
    drafted_at = models.DateTimeField()
    checked_by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="issues_checked")
    checked_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="issues_approved")
    approved_at = models.DateTimeField(null=True, blank=True)
    exception = models.TextField(blank=True)
    sheet = models.BinaryField(default=b"")
    sheet_sha256 = text(64)

    objects = SheetIssueQuerySet.as_manager()

    class Meta:
        ordering = ["loop", "-number"]
        constraints = [
            models.UniqueConstraint("loop", "number", name="issue_numbers_are_unique"),
            models.UniqueConstraint("loop", condition=~Q(state="approved"), name="one_issue_of_a_loop_under_way"),
        ]

    def __str__(self) -> str:
        return f"{self.loop} issue {self.number}"


class PackForm(StrEnum):
    PDF = "one PDF"
    ZIP = "a ZIP of single sheets"


class Pack(models.Model):
    """Sheets of many loops asked for together, as the loops stood at ``moment``.

    The register keeps the sha256 of the manifest and of the file, which is how a copy is verified years later, whether
    the file itself is still kept or was deleted to make room.
    """

    title = models.CharField(max_length=300)
    loops = models.JSONField(default=list)
    moment = models.DateTimeField()
    as_on = models.DateField(null=True, blank=True)
    paper = models.CharField(max_length=10)
    form = word_field(PackForm, default=PackForm.PDF)
    address = models.CharField(max_length=200)
    by = models.ForeignKey(User, models.PROTECT, related_name="packs")
    asked_at = models.DateTimeField()
    job = models.ForeignKey(Job, models.SET_NULL, null=True, blank=True, related_name="packs")
    made_at = models.DateTimeField(null=True, blank=True)
    sheets = models.PositiveIntegerField(default=0)
    left_out = models.JSONField(default=list)
    manifest_sha256 = text(64)
    file_sha256 = text(64)
    file_bytes = models.PositiveBigIntegerField(default=0)
    file_deleted_by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="pack_files_deleted")
    file_deleted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at"]

    def __str__(self) -> str:
        return self.title

    @property
    def ending(self) -> str:
        return "pdf" if self.form == PackForm.PDF else "zip"
