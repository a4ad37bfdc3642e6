from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from register.models import Calibration, CalibrationPoint, Finding, Loop, Revision, Tag
from register.models.calibrations import Way
from register.plant import sketch
from register.services import checking, editing
from register.services.calibrating import Reading, record_calibration
from register.services.permissions import NotAllowed
from register.services.recording import Refused, StaleLoop
from tests import factories

pytestmark = pytest.mark.django_db

UP = (0, 25, 50, 75, 100)
DOWN = (75, 50, 25, 0)
RIGHT = ("4.00", "8.01", "12.02", "16.01", "20.00"), ("16.02", "12.03", "8.02", "4.01")
"""Readings of a 4–20 mA transmitter within 0.25 %: the worst is 0.03 mA of 16, 0.1875 %."""
OFF = ("4.00", "8.03", "12.05", "16.03", "20.01"), ("16.04", "12.06", "8.04", "4.01")
"""The worst is 0.06 mA of 16, 0.375 %."""


def readings(found=None, left=None) -> list[Reading]:
    made = []
    for run, way, percents in ((0, Way.UP, UP), (1, Way.DOWN, DOWN)):
        for place, percent in enumerate(percents):
            one, other = (Decimal(of[run][place]) if of and of[run] else None for of in (found, left))
            made.append(Reading(percent, way, one, other))
    return made


@pytest.fixture
def loop(person):
    return factories.loop(sketch.pressure_loop(), by=person("planner"))


@pytest.fixture
def record(loop, person):
    def record(name="PT-201", **facts) -> Calibration:
        loop.refresh_from_db()
        usual = {
            "on": date(2024, 6, 3),
            "by_whom": "J. Hartwell",
            "standard": "Loop calibrator LC-02",
            "certificate": "CR-24-001",
            "tolerance_percent": Decimal("0.25"),
            "standard_uncertainty_percent": Decimal("0.05"),
            "points": readings(RIGHT),
            "by": person("technician"),
            "seen_revision": loop.revision,
            "reason": "Yearly calibration",
        }
        return record_calibration(Tag.objects.get(name=name), **(usual | facts))

    return record


def test_a_calibration_works_out_its_result_from_its_readings(record):
    """0.03 of 16 mA is 0.1875 % of span (ISA-51.1)."""
    made = record()

    assert (made.result, made.worst_error_percent) == ("pass", Decimal("0.1875"))
    assert (made.points, made.both_ways, made.as_found_recorded) == (5, True, True)
    assert (made.asset.code, f"{made.range_low:f}–{made.range_high:f}") == ("A2011", "0–10")
    middle = made.readings.get(percent=50, way="up")
    assert (middle.applied, middle.expected, made.applied_unit, made.reading_unit) == (5, 12, "bar (gauge)", "mA")
    assert middle.as_found_error_percent == Decimal("0.1250")


def test_what_counts_is_how_the_instrument_was_left(record):
    made = record(points=readings(OFF, RIGHT))

    assert (made.result, made.worst_error_percent) == ("pass", Decimal("0.1875"))
    assert max(one.as_found_error_percent for one in made.readings.all()) == Decimal("0.3750")


def test_an_instrument_left_as_it_was_found_out_of_tolerance_fails(record):
    made = record(points=readings(OFF))

    assert (made.result, made.worst_error_percent) == ("fail", Decimal("0.3750"))
    assert Finding.objects.open().get(rule="calibration-incomplete").subject == "PT-201"


def test_an_error_equal_to_the_tolerance_passes(record):
    assert record(points=readings(OFF), tolerance_percent=Decimal("0.375")).result == "pass"


def test_a_calibration_one_way_says_so(record):
    assert record(points=readings((RIGHT[0], ()))).both_ways is False


def test_the_calibration_makes_a_revision_in_the_same_transaction(record, loop, person):
    made = record(work_order="WO-7")

    revision = Revision.objects.get(loop=loop, number=2)
    assert (revision.by, revision.reason, revision.work_order) == (person("technician"), "Yearly calibration", "WO-7")
    assert revision.at == made.recorded_at
    assert revision.loop_value().tag("PT-201").calibration.worst_error_percent == Decimal("0.1875")


def test_a_standard_that_is_not_good_enough_is_found_at_once(record):
    """ANSI/NCSL Z540.3, from memory: four times better than the tolerance; 0.25 to 0.1 is 2.5."""
    record(standard_uncertainty_percent=Decimal("0.1"))

    assert Finding.objects.open().filter(rule="standard-not-good-enough").count() == 1


def refused(record, error=Refused, **facts):
    before = Revision.objects.count()
    with pytest.raises(error) as caught:
        record(**facts)
    assert (Calibration.objects.count(), CalibrationPoint.objects.count()) == (0, 0)
    assert Revision.objects.count() == before
    return caught.value


def test_a_day_in_the_future_is_refused(record):
    refusal = refused(record, on=timezone.localdate() + timedelta(days=1))
    assert (refusal.field, "is in the future" in str(refusal)) == ("on", True)


def test_a_day_before_the_asset_went_in_is_refused(record):
    refusal = refused(record, on=date(2024, 3, 3))
    assert refusal.field == "on"
    assert "went in on 2024-03-04; 2024-03-03 is before that" in str(refusal)


def test_a_second_calibration_on_a_day_is_refused(record):
    record()
    with pytest.raises(Refused, match="recorded already"):
        record()


@pytest.mark.parametrize("tolerance", ["0", "-0.25", "101"])
def test_a_tolerance_that_cannot_be_is_refused(record, tolerance):
    assert refused(record, tolerance_percent=Decimal(tolerance)).field == "tolerance_percent"


def test_readings_that_the_signal_cannot_give_are_refused_each_at_its_field(record):
    wrong = ("4.00", "8.01", "120.2", "16.01", "20.00"), ("16.02", "12.03", "802", "4.01")
    refusal = refused(record, ValidationError, points=readings(wrong))
    assert set(refusal.message_dict) == {"as_found_up_50", "as_found_down_25"}
    assert refusal.message_dict["as_found_up_50"][0].startswith("PT-201 cannot say 120.2 mA: at this point 12.000 is")


def test_fewer_points_than_the_check_has_are_refused(record):
    points = [one for one in readings(RIGHT) if (one.way, one.percent) != (Way.UP, 75)]
    refusal = refused(record, ValidationError, points=points)
    assert refusal.message_dict == {"as_found_up_75": ["The check has 5 points rising. Read this one too."]}


def test_points_falling_alone_are_refused(record):
    refusal = refused(record, ValidationError, points=readings(((), RIGHT[1])))
    assert set(refusal.message_dict) == {f"as_found_up_{percent}" for percent in UP}


def test_a_calibration_without_any_reading_is_refused(record):
    assert "Nothing was read" in str(refused(record, ValidationError, points=readings()))


def test_a_tag_without_a_range_is_refused(record):
    Tag.objects.get(name="PT-201").ports.update(range_low=None, range_high=None, range_unit="")
    assert "The range of PT-201 is not recorded. Enter it at the tag first" in str(refused(record))


def test_an_auditor_records_nothing(record, person):
    assert isinstance(refused(record, NotAllowed, by=person("auditor")), NotAllowed)


def test_a_stale_form_records_nothing(record):
    assert isinstance(refused(record, StaleLoop, seen_revision=0), StaleLoop)


def test_what_was_never_calibrated_is_due_first_then_the_earliest(record, person):
    """Twelve months after 3 June 2024 is 3 June 2025, and after 31 January 2023 31 January 2024."""
    for number in ("202", "203"):
        factories.loop(sketch.pressure_loop(number), by=person("planner"))
    Tag.objects.filter(role="transmitter").update(calibration_interval_months=12)
    Calibration.objects.create(tag=Tag.objects.get(name="PT-203"), on=date(2023, 1, 31), result="pass")
    checking.recheck(Loop.objects.values_list("pk", flat=True), at=timezone.now())
    record()

    found = Tag.objects.calibrated().by_due_date()
    assert [(one.name, one.calibration_due_on) for one in found] == [
        ("PT-202", None),
        ("PT-203", date(2024, 1, 31)),
        ("PT-201", date(2025, 6, 3)),
    ]
    assert [one.name for one in Tag.objects.due_by(date(2025, 6, 2))] == ["PT-202", "PT-203"]


def test_a_tag_without_an_interval_is_due_no_more(record, person):
    tag = Tag.objects.get(name="PT-201")
    Tag.objects.filter(pk=tag.pk).update(calibration_interval_months=12)
    record()
    tag.refresh_from_db()
    assert tag.calibration_due_on == date(2025, 6, 3)

    facts = {"calibration_interval_months": None}
    editing.edit_tag(tag, facts, by=person("planner"), seen_revision=tag.loop.revision, reason="Indication only")
    tag.refresh_from_db()
    assert tag.calibration_due_on is None
