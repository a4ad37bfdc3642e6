from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from register.models import Calibration, Tag
from register.services import editing
from tests.browser import assert_accessible, assert_fits
from tests.web.calibrations.conftest import MILLIAMPS, RUNS

FORM = reverse("calibrations:record", args=["PT-201"])


def typed(loop, off: str = "", **facts) -> dict[str, str]:
    loop.refresh_from_db()
    readings = {
        f"as_found_{way}_{percent}": f"{MILLIAMPS[percent]}{off}"
        for way, percents in RUNS.items()
        for percent in percents
    }
    about = {
        "on": "2024-06-03",
        "by_whom": "J. Hartwell",
        "standard": "LC-02",
        "tolerance_percent": "0,25",
        "standard_uncertainty_percent": "0.05",
        "reason": "Yearly calibration",
        "seen_revision": str(loop.revision),
    }
    return readings | about | facts


def test_what_each_point_should_read_stands_beside_its_field(loop, signed_in):
    """IEC 60381-1: a quarter of 0 to 10 bar is 8 mA."""
    page = signed_in("technician").get(FORM).content.decode()
    assert "Apply 2.5 bar (gauge), expect 8.000 mA" in page
    assert page.count('inputmode="decimal"') >= 18


def test_a_calibration_is_recorded_and_shown(loop, signed_in):
    response = signed_in("technician").post(FORM, typed(loop, ".01"))

    made = Calibration.objects.get()
    assert response["Location"] == reverse("calibrations:detail", args=[made.pk])
    assert (made.result, str(made.worst_error_percent), str(made.tolerance_percent)) == ("pass", "0.0625", "0.25")


def test_a_wrong_reading_keeps_everything_that_was_typed(loop, signed_in):
    response = signed_in("technician").post(FORM, typed(loop, as_found_up_50="120.1", certificate="CR-7"))

    assert Calibration.objects.count() == 0
    assert list(response.context["form"].errors) == ["as_found_up_50"]
    page = response.content.decode()
    assert 'value="120.1"' in page
    assert 'value="CR-7"' in page


def test_a_word_for_a_reading_is_refused_in_words(loop, signed_in):
    page = signed_in("technician").post(FORM, typed(loop, as_found_up_50="about 12")).content.decode()
    assert "“about 12” is not a number." in page
    assert 'value="about 12"' in page


def test_a_day_in_the_future_is_refused_at_its_field(loop, signed_in):
    tomorrow = timezone.localdate() + timedelta(days=1)
    response = signed_in("technician").post(FORM, typed(loop, on=str(tomorrow)))
    assert "is in the future" in response.context["form"].errors["on"][0]


def test_a_change_made_meanwhile_is_shown_and_nothing_typed_is_lost(loop, signed_in, person):
    sent = typed(loop, ".01")
    editing.edit_loop(
        loop, {"service": "Steam"}, by=person("planner"), seen_revision=loop.revision, reason="Better name"
    )

    page = signed_in("technician").post(FORM, sent).content.decode()
    assert "Better name" in page
    assert 'value="12.01"' in page
    assert Calibration.objects.count() == 0


def test_the_next_calibration_starts_from_the_last_standard_and_tolerance(loop, calibrated, signed_in):
    calibrated(date(2024, 6, 3))
    form = signed_in("technician").get(FORM).context["form"]
    assert (form["standard"].value(), str(form["tolerance_percent"].value())) == ("Loop calibrator LC-02", "0.25")
    assert form["by_whom"].value() == "technician"


def test_a_tag_without_a_range_says_what_to_enter_first(loop, signed_in):
    Tag.objects.get(name="PT-201").ports.update(range_low=None, range_high=None, range_unit="")
    page = signed_in("technician").get(FORM).content.decode()
    assert "The range of PT-201 is not recorded." in page


@pytest.mark.browser
def test_a_technician_records_a_calibration_on_a_phone(loop, phone_page, sign_in):
    page = phone_page
    sign_in(page, "technician")
    page.goto(reverse("calibrations:list"))
    page.get_by_role("link", name="Record a calibration of PT-201").click()
    assert_fits(page)
    page.get_by_label("Standard", exact=False).first.fill("Loop calibrator LC-02")
    page.get_by_label("Tolerance").fill("0.25")
    for way, word in (("up", "rising"), ("down", "falling")):
        for percent in RUNS[way]:
            page.get_by_label(f"{percent} % {word}", exact=True).fill(str(MILLIAMPS[percent]))
    page.get_by_text("It was adjusted: record it as left").click()
    assert_accessible(page)
    page.get_by_role("button", name="Save").click()
    page.get_by_role("heading", name="Calibration of PT-201").wait_for()
    assert_fits(page)
    assert_accessible(page)
    assert Calibration.objects.get().result == "pass"
