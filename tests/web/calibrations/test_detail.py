from __future__ import annotations

from datetime import date

from django.urls import reverse

from register.models import Alarm, Calibration, Tag
from register.plant import sketch
from tests import factories
from tests.web.calibrations.conftest import off_by


def page_of(client, calibration: Calibration) -> str:
    return client.get(reverse("calibrations:detail", args=[calibration.pk])).content.decode()


def test_errors_are_shown_in_the_unit_and_in_per_cent_of_span(loop, calibrated, signed_in):
    """0.06 mA of 16 is 0.375 % of span (ISA-51.1), which is 0.0375 bar of 10."""
    page = page_of(signed_in("auditor"), calibrated(date(2024, 6, 3), off_by("0.06")))
    assert "+0.0375" in page
    assert "+0.375" in page
    assert "±0.25 % of span (±0.0250 bar)" in page
    assert "the tolerance is 5.0 times as wide" in page
    assert "hysteresis 0.00 % of span" in page


def test_the_next_day_is_shown(loop, calibrated, signed_in):
    page = page_of(signed_in("auditor"), calibrated(date(2024, 6, 3)))
    assert '<time datetime="2025-06-03">' in page


def test_a_good_calibration_affects_nothing(loop, calibrated, signed_in):
    assert "may have been affected" not in page_of(signed_in("auditor"), calibrated(date(2024, 6, 3)))


def test_what_was_found_wrong_says_since_when_and_what_worked_with_it(loop, calibrated, signed_in):
    alarm = Alarm.objects.get(tag__name="PIC-201")
    Alarm.objects.filter(pk=alarm.pk).update(trip=True)
    calibrated(date(2024, 6, 3))
    bad = calibrated(date(2024, 9, 2), off_by("-0.08", "0"))

    page = " ".join(page_of(signed_in("auditor"), bad).split())
    assert "PT-201 was wrong by up to −0.0500 bar" in page
    assert '<time datetime="2024-06-03">3 Jun 2024</time>, <a' in page
    assert ">PIC-201</a> worked with what it said" in page
    assert f"<b>Trip</b> {alarm} (high at 8" in page


def test_without_an_earlier_good_one_it_may_be_wrong_since_it_went_in(loop, calibrated, signed_in):
    page = page_of(signed_in("auditor"), calibrated(date(2024, 6, 3), off_by("0.08", "0")))
    assert '<time datetime="2024-03-04">' in page
    assert "no good calibration of it is recorded" in page


def test_the_chart_holds_each_calibration_up_to_this_one(loop, calibrated, signed_in):
    calibrated(date(2024, 6, 3), off_by("0.016"))
    bad = calibrated(date(2024, 9, 2), off_by("0.08", "0"))
    response = signed_in("auditor").get(reverse("calibrations:detail", args=[bad.pk]))

    rows = response.context["chart"].rows
    assert [(label, *(str(figure) for _, figure in named[:2])) for label, named in rows] == [
        ("2024-06-03", "0.1000", "0.1000"),
        ("2024-09-02", "0.5000", "0.0000"),
    ]
    assert round(response.context["drift"], 4) == 0.4


def test_an_imported_calibration_without_readings_shows_its_result(loop, signed_in):
    made = Calibration.objects.create(tag=Tag.objects.get(name="PT-201"), on=date(2024, 5, 2), result="incomplete")
    page = page_of(signed_in("auditor"), made)
    assert "No readings are recorded, only the result." in page
    assert "Incomplete" in page


def test_more_points_and_calibrations_cost_no_more_queries(loop, calibrated, signed_in, django_assert_max_num_queries):
    client = signed_in("auditor")
    for month in range(4, 12):
        made = calibrated(date(2024, month, 3))
    with django_assert_max_num_queries(11):
        page_of(client, made)


def test_the_tags_page_leads_to_its_latest_calibration_and_to_the_form(loop, calibrated, signed_in):
    calibrated(date(2024, 6, 3))
    latest = calibrated(date(2024, 9, 2))
    page = signed_in("technician").get(reverse("tags:detail", args=["PT-201"])).content.decode()
    assert reverse("calibrations:detail", args=[latest.pk]) in page
    assert reverse("calibrations:record", args=["PT-201"]) in page
    valve = signed_in("technician").get(reverse("tags:detail", args=["PV-201"])).content.decode()
    assert reverse("calibrations:record", args=["PV-201"]) not in valve


def test_what_was_found_wrong_names_the_other_loops_that_it_fed(person, signed_in):
    factories.loop(sketch.cascade(), by=person("planner"))
    master = Tag.objects.get(name="TIC-110")
    bad = factories.calibration(master, by=person("technician"))
    bad.readings.filter(percent=50).update(as_found_error_percent="1.5")

    page = " ".join(page_of(signed_in("auditor"), bad).split())
    assert ">TIC-102</a> worked with what it said" in page
