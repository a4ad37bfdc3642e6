"""What was read at each point of a calibration, and when which tag is due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db import models
from django.db.models import OuterRef, Subquery

from register.calc.calibration import due_on
from register.models.fields import number
from register.models.loops import Tag, TagQuerySet
from register.models.records import Calibration


class Way(models.TextChoices):
    """From which side a point is approached."""

    UP = "up", "rising"
    DOWN = "down", "falling"


class CalibrationPoint(models.Model):
    """One point of a calibration: per cent of the range, what was applied and expected, and what was read.

    Values are in the units that the calibration names; errors are in per cent of span, worked out when it was recorded.
    """

    calibration = models.ForeignKey(Calibration, models.CASCADE, related_name="readings")
    percent = number("per cent of the range")
    way = models.CharField(max_length=4, choices=Way)
    applied = number()
    expected = number()
    as_found = number()
    as_left = number()
    as_found_error_percent = number("error as found (% of span)")
    as_left_error_percent = number("error as left (% of span)")

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint("calibration", "percent", "way", name="a_point_is_read_once_each_way")]

    def __str__(self) -> str:
        return f"{self.calibration}, {self.percent:f} %, {self.get_way_display()}"


@dataclass(frozen=True)
class Due:
    """A tag that is calibrated at intervals; without a last calibration it is due at once."""

    tag: Tag
    last: date | None
    result: str
    calibration: int | None
    due: date | None

    def overdue(self, today: date) -> bool:
        return self.due is None or self.due < today

    @property
    def place(self) -> tuple[date, str]:
        """Its place in the list: never calibrated first, then by due date."""
        return self.due or date.min, self.tag.name


def due_list(tags: TagQuerySet) -> list[Due]:
    """Those of the tags that have a calibration interval, the most urgent first."""
    latest = Calibration.objects.filter(tag=OuterRef("pk")).order_by("-on", "-pk")
    rows = tags.filter(calibration_interval_months__gt=0, loop__retired_on__isnull=True).select_related("loop__area")
    rows = rows.annotate(
        last_on=Subquery(latest.values("on")[:1]),
        last_result=Subquery(latest.values("result")[:1]),
        last_pk=Subquery(latest.values("pk")[:1]),
    )
    made = [
        Due(
            tag,
            tag.last_on,
            tag.last_result or "",
            tag.last_pk,
            due_on(tag.last_on, tag.calibration_interval_months) if tag.last_on else None,
        )
        for tag in rows
    ]
    return sorted(made, key=lambda one: one.place)
