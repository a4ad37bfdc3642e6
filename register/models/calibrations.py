"""What was read at each point of a calibration, and what that says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import models

from register.calc.calibration import drift_percent, hysteresis_percent, passes
from register.calc.ranges import Range
from register.models.fields import number
from register.models.records import Calibration
from register.plant import codec
from register.plant.words import CalibrationResult


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


def readings_digest(calibration: Calibration, points: Iterable[CalibrationPoint]) -> str:
    """The sha256 that names the readings, in the order in which they were taken, and their units."""
    lines = [f"{calibration.applied_unit} {calibration.reading_unit}"]
    for point in points:
        numbers = (point.percent, point.applied, point.expected, point.as_found, point.as_left)
        lines.append(" ".join([point.way, *("-" if one is None else f"{one.normalize():f}" for one in numbers)]))
    return codec.digest("\n".join(lines).encode())


@dataclass(frozen=True)
class Outcome:
    """What the readings of one state, as found or as left, say: worst error and hysteresis in per cent of span."""

    worst_percent: Decimal
    hysteresis_percent: float | None
    passed: bool


def outcome(calibration: Calibration, readings: Sequence[CalibrationPoint], state: str) -> Outcome | None:
    """None where nothing was read in that state."""
    errors = {
        (one.way, one.percent): error
        for one in readings
        if (error := getattr(one, f"{state}_error_percent")) is not None
    }
    if not errors:
        return None
    worst = max(errors.values(), key=abs)
    down = [percent for way, percent in errors if way == Way.DOWN]
    return Outcome(
        worst,
        # The point is the same both ways, so errors lie as far apart as readings do.
        hysteresis_percent(*([float(errors[way, one]) for one in down] for way in Way), (0, 100)) if down else None,
        passes(float(worst), float(calibration.tolerance_percent)),
    )


def drift_since(earlier: Sequence[CalibrationPoint], later: Sequence[CalibrationPoint]) -> float | None:
    """Largest change from how one calibration left the instrument to how the next found it, in per cent of span."""
    left = {
        (one.way, one.percent): one.as_found_error_percent
        if one.as_left_error_percent is None
        else one.as_left_error_percent
        for one in earlier
    }
    found = {(one.way, one.percent): one.as_found_error_percent for one in later}
    shared = [key for key in found if None not in (found[key], left.get(key))]
    if not shared:
        return None
    return drift_percent([float(left[key]) for key in shared], [float(found[key]) for key in shared])


def calibrated_range(calibration: Calibration) -> Range | None:
    if calibration.range_low is None or calibration.range_high is None or not calibration.range_unit:
        return None
    return Range(calibration.range_low, calibration.range_high, calibration.range_unit, calibration.range_reference)


def last_good_before(calibration: Calibration) -> Calibration | None:
    """The latest earlier calibration that left what stands at the tag within its tolerance."""
    earlier = Calibration.objects.filter(tag=calibration.tag_id, on__lt=calibration.on)
    return earlier.filter(result=CalibrationResult.PASS).order_by("-on", "-pk").first()
