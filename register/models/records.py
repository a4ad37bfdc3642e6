"""What happened and what was found: revisions, findings, concessions, calibrations. Kept for ever."""

from __future__ import annotations

import zlib
from datetime import datetime, timedelta
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Case, Count, Q, Value, When
from django.utils import timezone

from register.calc.tag_patterns import USUAL, BadPattern, read_patterns
from register.models.accounts import User
from register.models.assets import Asset
from register.models.catalogue import CatalogueModel
from register.models.fields import QuantityField, number, text, word_field
from register.models.loops import Area, Loop, Tag
from register.plant import codec
from register.plant.values import Loop as LoopValue
from register.plant.words import CalibrationResult, Criticality, Severity
from register.rules import engine
from register.rules.engine import Verdict


class RevisionQuerySet(models.QuerySet):
    def as_on(self, moment) -> RevisionQuerySet:
        """The revision of each loop that stood at a moment: use with a filter on one loop, or distinct over many."""
        return self.filter(at__lte=moment).order_by("loop_id", "-number")

    def listed(self) -> RevisionQuerySet:
        """What lists show of each, without its snapshot."""
        return self.select_related("by").defer("compressed")


class Revision(models.Model):
    """A numbered, immutable snapshot of a loop, chained to the one before by sha256."""

    loop = models.ForeignKey(Loop, models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(User, models.PROTECT, related_name="revisions")
    reason = models.CharField(max_length=300)
    work_order = text(60)
    changes = models.JSONField(default=list)
    compressed = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    previous_sha256 = models.CharField(max_length=64, blank=True)

    objects = RevisionQuerySet.as_manager()

    class Meta:
        ordering = ["loop", "-number"]
        constraints = [models.UniqueConstraint("loop", "number", name="revision_numbers_are_unique")]
        indexes = [models.Index("at", name="revision_at")]

    def __str__(self) -> str:
        return f"{self.loop} revision {self.number}"

    @property
    def snapshot(self) -> bytes:
        """Canonical JSON of the loop as it stood."""
        return zlib.decompress(bytes(self.compressed))

    def loop_value(self) -> LoopValue:
        return codec.decode(self.snapshot)


class CatalogueRevision(models.Model):
    """Who changed a catalogue model, its ports or its bays, when and why, each fact old → new."""

    model = models.ForeignKey(CatalogueModel, models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(User, models.PROTECT, related_name="catalogue_revisions")
    reason = models.CharField(max_length=300)
    changes = models.JSONField(default=list)

    class Meta:
        ordering = ["model", "-number"]
        constraints = [models.UniqueConstraint("model", "number", name="catalogue_revision_numbers_are_unique")]

    def __str__(self) -> str:
        return f"{self.model} revision {self.number}"


class FindingQuerySet(models.QuerySet):
    def open(self) -> FindingQuerySet:
        return self.filter(cleared_at__isnull=True)

    def open_at(self, moment) -> FindingQuerySet:
        return self.filter(Q(cleared_at__isnull=True) | Q(cleared_at__gt=moment), first_seen__lte=moment)

    def at_revision(self, number: int) -> FindingQuerySet:
        """What stood open while this revision of its loop was the latest."""
        stood = Q(cleared_revision__isnull=True) | Q(cleared_revision__gt=number)
        return self.filter(stood, first_revision__lte=number)

    def by_urgency(self) -> FindingQuerySet:
        """Errors first; within a severity what is certain before what a rule cannot tell."""
        rank = Case(*(When(severity=word, then=Value(place)) for place, word in enumerate(Severity)))
        return self.order_by("unknown", rank, "rule", "subject", "place")

    def standing(self, how: str) -> FindingQuerySet:
        """Findings that are "open", "conceded", "unknown" (a rule cannot tell) or "cleared"."""
        if how == "cleared":
            return self.filter(cleared_at__isnull=False)
        if how == "conceded":
            return self.open().filter(concession__isnull=False)
        return self.counted().filter(unknown=how == "unknown")

    def older_than(self, days: int) -> FindingQuerySet:
        return self.filter(first_seen__lt=timezone.now() - timedelta(days=days))

    def count_by_area(self) -> dict[str, dict[str, int]]:
        """How many there are of each severity in each area that has one, the fullest area first."""
        counted = self.order_by().values_list("loop__area__path", "severity").annotate(count=Count("pk"))
        areas: dict[str, dict[str, int]] = {}
        for path, severity, count in counted:
            areas.setdefault(path, {})[severity] = count
        return dict(sorted(areas.items(), key=lambda area: (-sum(area[1].values()), area[0])))

    def count_by_severity(self) -> dict[str, int]:
        """How many there are of each severity, the most severe first."""
        counted = dict(self.order_by().values_list("severity").annotate(count=Count("pk")))
        return {word: counted.get(word, 0) for word in Severity}

    def open_each_week(self, until: datetime, weeks: int) -> list[tuple[datetime, dict[str, int]]]:
        """How many of each severity stood open at a moment and at the same time of each of so many weeks before it.

        Reckoned back from what is open now, so that only what came and went since has to be read.
        """
        moments = [until - timedelta(weeks=back) for back in reversed(range(weeks))]
        now = self.open().count_by_severity()
        came, went = (self._counted_after(column, moments) for column in ("first_seen", "cleared_at"))
        return [
            (moment, {word: now[word] - came[word][place] + went[word][place] for word in Severity})
            for place, moment in enumerate(moments)
        ]

    def _counted_after(self, column: str, moments: list[datetime]) -> dict[str, list[int]]:
        """For each severity, to how many it happened after each of the moments, which ascend."""
        counts = [Count("pk", filter=Q(**{f"{column}__gt": moment})) for moment in moments]
        rows = (
            self.filter(**{f"{column}__gt": moments[0]})
            .order_by()
            .values_list("severity")
            .annotate(**{f"after_{place}": count for place, count in enumerate(counts)})
        )
        found = {severity: after for severity, *after in rows}
        return {word: found.get(word, [0] * len(moments)) for word in Severity}

    def count_by_rule(self) -> dict[str, dict[str, int]]:
        """By rule, how many of its findings stand ``open``, ``conceded`` and ``unknown`` (it cannot tell)."""
        free = Q(concession__isnull=True)
        counted = (
            self.open()
            .order_by()
            .values("rule")
            .annotate(
                open=Count("pk", filter=free & Q(unknown=False)),
                unknown=Count("pk", filter=free & Q(unknown=True)),
                conceded=Count("pk", filter=~free),
            )
        )
        return {row.pop("rule"): row for row in counted}

    def counted(self) -> FindingQuerySet:
        """Open findings that no concession sets aside."""
        return self.open().filter(concession__isnull=True)


class Concession(models.Model):
    """A signed, dated permission to live with one finding while its facts stay what they were."""

    loop = models.ForeignKey(Loop, models.PROTECT, related_name="concessions")
    rule = models.CharField(max_length=60)
    subject = models.CharField(max_length=60)
    place = text(60)
    facts_sha256 = models.CharField(max_length=64)
    reason = models.CharField(max_length=300)
    reference = text(60)
    by = models.ForeignKey(User, models.PROTECT, related_name="concessions")
    at = models.DateTimeField()
    until = models.DateField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_because = text(200)

    class Meta:
        ordering = ["-at"]
        constraints = [
            models.UniqueConstraint(
                "loop",
                "rule",
                "subject",
                "place",
                condition=Q(ended_at__isnull=True),
                name="one_concession_per_finding",
            )
        ]

    def __str__(self) -> str:
        return f"{self.rule} at {self.subject} until {self.until}"


class Finding(models.Model):
    """What a rule says of a loop. Rule, subject and place are its identity; wording and numbers may change.

    ``unknown`` marks a "cannot tell": the rule lacks a fact.
    """

    loop = models.ForeignKey(Loop, models.PROTECT, related_name="findings")
    rule = models.CharField(max_length=60)
    subject = models.CharField(max_length=60)
    place = text(60)
    severity = word_field(Severity)
    unknown = models.BooleanField(default=False)
    text = models.TextField()
    facts_sha256 = models.CharField(max_length=64)
    first_seen = models.DateTimeField()
    cleared_at = models.DateTimeField(null=True, blank=True)
    first_revision = models.PositiveIntegerField()
    cleared_revision = models.PositiveIntegerField(null=True, blank=True)
    concession = models.ForeignKey(Concession, models.SET_NULL, null=True, blank=True, related_name="findings")

    objects = FindingQuerySet.as_manager()

    class Meta:
        ordering = ["loop", "rule", "subject", "place"]
        constraints = [
            models.UniqueConstraint(
                "loop", "rule", "subject", "place", condition=Q(cleared_at__isnull=True), name="a_finding_is_open_once"
            )
        ]
        indexes = [
            models.Index("rule", name="finding_open_rule", condition=Q(cleared_at__isnull=True)),
            models.Index("first_seen", name="finding_first_seen"),
        ]

    def __str__(self) -> str:
        return f"{self.rule} at {self.subject}"

    @property
    def verdict(self) -> Verdict:
        """As the rule said it."""
        said = engine.Finding(self.subject, "{text}", self.place, {"text": self.text}, self.unknown)
        return Verdict(self.rule, Severity(self.severity), said)

    @property
    def last_seen(self):
        """When it was found last: a check that finds it again only notes the time on the loop."""
        return self.cleared_at or self.loop.checked_at or self.first_seen


class RuleSettingQuerySet(models.QuerySet):
    def in_force(self) -> RuleSettingQuerySet:
        return self.filter(ended_at__isnull=True)

    def past(self) -> RuleSettingQuerySet:
        return self.filter(ended_at__isnull=False).order_by("-ended_at")


class RuleSetting(models.Model):
    """A plant's own tolerance for a rule, or a rule switched off with a reason; for one area or, with none, all.

    A setting that no longer holds is ended and kept.
    """

    rule = models.CharField(max_length=60)
    area = models.ForeignKey(Area, models.CASCADE, null=True, blank=True, related_name="rule_settings")
    off = models.BooleanField("switched off", default=False)
    tolerance = number()
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(User, models.PROTECT, related_name="rule_settings")
    at = models.DateTimeField()
    ended_by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="rule_settings_ended")
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = RuleSettingQuerySet.as_manager()

    class Meta:
        ordering = ["rule"]
        constraints = [
            models.UniqueConstraint(
                "rule", "area", condition=Q(ended_at__isnull=True), name="one_setting_per_rule_and_area"
            ),
            models.UniqueConstraint(
                "rule",
                condition=Q(area__isnull=True, ended_at__isnull=True),
                name="one_setting_per_rule_for_the_plant",
            ),
        ]

    def __str__(self) -> str:
        return self.rule


class Calibration(models.Model):
    """A calibration at a tag. Columns bear the names of :class:`register.plant.values.Calibration`'s fields.

    One that was recorded point by point has ``readings`` in ``reading_unit``, and the moment of the revision it made.
    """

    tag = models.ForeignKey(Tag, models.PROTECT, related_name="calibrations")
    asset = models.ForeignKey(Asset, models.PROTECT, null=True, blank=True, related_name="calibrations")
    on = models.DateField()
    result = word_field(CalibrationResult)
    by = text(80)
    standard = text(120)
    certificate = text(80)
    range_low = number()
    range_high = number()
    range_unit = text(8)
    range_reference = text(20)
    points = models.PositiveSmallIntegerField(null=True, blank=True)
    both_ways = models.BooleanField(null=True, blank=True)
    as_found_recorded = models.BooleanField(null=True, blank=True)
    worst_error_percent = number("worst error (% of span)")
    tolerance_percent = number("tolerance (% of span)")
    standard_uncertainty_percent = number("uncertainty of the standard (% of span)")
    applied_unit = text(30)
    reading_unit = text(30)
    readings_sha256 = text(64)
    recorded_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-on", "-pk"]
        constraints = [models.UniqueConstraint("tag", "on", name="one_calibration_of_a_tag_a_day")]
        indexes = [models.Index(fields=["tag", "-on"], name="calibration_latest")]

    def __str__(self) -> str:
        return f"{self.tag} on {self.on}"


def service_level(criticality: Criticality, percent: int) -> QuantityField:
    """The share of lead times in which every failure at loops of a criticality is to find a spare."""
    limits = [MinValueValidator(Decimal(50)), MaxValueValidator(Decimal("99.999"))]
    name = f"service level, {criticality} loops (%)"
    return QuantityField(
        name, default=Decimal(percent), validators=limits, help_text="Of lead times, with a spare for every failure."
    )


def usable_patterns(patterns: str) -> None:
    try:
        read_patterns(patterns)
    except BadPattern as fault:
        raise ValidationError(str(fault)) from None


class PlantSettings(models.Model):
    """The one row of settings of the plant."""

    name = models.CharField(max_length=80)
    currency = text(3)
    paper = models.CharField(
        max_length=10, default="A4", choices=[("A4", "A4"), ("A3", "A3"), ("Letter", "Letter"), ("Tabloid", "Tabloid")]
    )
    service_level_safety_percent = service_level(Criticality.SAFETY, 99)
    service_level_environment_percent = service_level(Criticality.ENVIRONMENT, 98)
    service_level_production_percent = service_level(Criticality.PRODUCTION, 95)
    service_level_routine_percent = service_level(Criticality.ROUTINE, 90)
    tag_patterns = models.TextField(
        "how tags are written",
        blank=True,
        default=USUAL,
        validators=[usable_patterns],
        help_text="Patterns, one a line, such as {letters}-{number}[{suffix}].",
    )

    class Meta:
        verbose_name_plural = "plant settings"

    def __str__(self) -> str:
        return self.name

    @property
    def service_levels(self) -> dict[Criticality, float]:
        """The share of lead times to be met, 0 to 1, by criticality."""
        return {one: float(getattr(self, f"service_level_{one}_percent")) / 100 for one in Criticality}


class Job(models.Model):
    """Background work and how far it is. ``kind`` names the function that does it by ``arguments``."""

    kind = models.CharField(max_length=100)
    arguments = models.JSONField(default=dict)
    by = models.ForeignKey(User, models.PROTECT, null=True, related_name="jobs")
    queued_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    message = models.CharField(max_length=300, blank=True)
    failed = models.BooleanField(default=False)
    cancel_asked = models.BooleanField(default=False)

    class Meta:
        ordering = ["-queued_at"]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"


class JobPartQuerySet(models.QuerySet):
    def open(self) -> JobPartQuerySet:
        return self.filter(done_at__isnull=True)


class JobPart(models.Model):
    """A part of a job that a process does at a time: the loops from one key to another, and how many they are."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="parts")
    first = models.BigIntegerField()
    last = models.BigIntegerField()
    size = models.PositiveIntegerField()
    done_at = models.DateTimeField(null=True, blank=True)

    objects = JobPartQuerySet.as_manager()

    class Meta:
        ordering = ["first"]
        constraints = [models.UniqueConstraint("job", "first", name="a_job_has_each_part_once")]

    def __str__(self) -> str:
        return f"loops {self.first} to {self.last} of {self.job}"
