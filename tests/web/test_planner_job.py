"""The planner's main job in a real browser: find what is wrong, put it right, print the new sheet."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from register.models import Loop
from register.plant import sketch
from tests import factories
from tests.browser import DESK, PHONE, assert_fits

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PASSWORD = "a long walk by the river"


@pytest.fixture
def planner(person):
    planner = person("planner")
    planner.set_password(PASSWORD)
    planner.save()
    return planner


@pytest.fixture
def plant(planner):
    """Six right loops, and one whose upper set-point limit is out of its range."""
    factories.many_loops(6, by=planner, first=20)
    faulty = sketch.with_settings(
        sketch.temperature_loop(range_="0-400 degC"), "TIC-101", set_point_high=sketch.number(450)
    )
    return factories.loop(faulty, by=planner)


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_a_planner_signs_in_finds_a_fault_puts_it_right_and_gets_the_new_sheet(open_page, plant, size, pdf_text):
    page = open_page(size)
    page.goto("/loops/")
    page.get_by_label(re.compile("^User ?name", re.IGNORECASE)).fill("planner")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("main").get_by_role("button", name="Sign in").click()

    if size == PHONE:
        page.get_by_text("Narrow", exact=True).click()
    page.get_by_role("link", name=re.compile("^Warning")).click()
    expect(page.get_by_role("rowheader")).to_have_count(1)
    page.get_by_role("link", name="T-101", exact=True).click()

    expect(page.get_by_text("the upper set-point limit is 450 °C, the range is 0–400 °C")).to_be_visible()
    page.get_by_role("region", name="Findings").get_by_role("link", name="TIC-101").click()
    page.get_by_role("link", name="Settings", exact=True).click()
    page.get_by_label("Upper set-point limit").fill("350")
    page.get_by_label(re.compile("^Reason")).fill("Limit set inside the range")
    assert_fits(page)

    page.get_by_role("button", name="What would it change?").click()
    preview = page.get_by_role("status", name="What saving would change")
    expect(preview).to_contain_text("These findings clear")
    expect(preview).to_contain_text("the upper set-point limit is 450 °C")
    expect(page.get_by_label("Upper set-point limit")).to_have_value("350")
    page.get_by_role("button", name="Save").click()

    expect(page.get_by_text("No rule has anything to say of this tag.")).to_be_visible()
    page.get_by_role("link", name="T-101", exact=True).first.click()
    expect(page.get_by_text("No rule has anything to say of this loop.")).to_be_visible()
    expect(page.get_by_text("Revision 2", exact=True)).to_be_visible()

    address = page.get_by_role("link", name="Loop sheet (PDF)").get_attribute("href")
    answer = page.request.get(address)
    assert answer.headers["content-type"] == "application/pdf"
    sheet = pdf_text(answer.body())
    assert "350 °C" in sheet
    assert "450 °C" not in sheet
    assert Loop.objects.get(number="T-101").revision == 2


def test_two_people_edit_one_loop_and_nothing_typed_is_lost(open_page, sign_in, plant, person):
    first, second = open_page(DESK), open_page(DESK)
    sign_in(first, "planner")
    sign_in(second, "administrator")
    for page in (first, second):
        page.goto("/loops/T-101/change/")
    first.get_by_label("Service").fill("Hot liquor temperature")
    first.get_by_label(re.compile("^Reason")).fill("Right name")
    first.get_by_role("button", name="Save").click()

    second.get_by_label("Remarks").fill("Well by the east door")
    second.get_by_label(re.compile("^Reason")).fill("Where the well is")
    second.get_by_role("button", name="Save").click()

    expect(second.get_by_role("alert")).to_contain_text("planner changed T-101 while you were editing")
    expect(second.get_by_role("alert")).to_contain_text("service Hot water temperature → Hot liquor temperature")
    expect(second.get_by_label("Remarks")).to_have_value("Well by the east door")
    second.get_by_label("Service").fill("Hot liquor temperature")
    second.get_by_role("button", name="Save").click()
    expect(second.get_by_text("T-101 was changed.")).to_be_visible()

    loop = Loop.objects.get(number="T-101")
    assert (loop.service, loop.remarks, loop.revision) == ("Hot liquor temperature", "Well by the east door", 3)


def test_a_form_sent_twice_changes_once(open_page, sign_in, plant):
    page = open_page(DESK)
    sign_in(page, "planner")
    page.goto("/loops/T-101/change/")
    page.get_by_label("Remarks").fill("Once")
    page.get_by_label(re.compile("^Reason")).fill("Note")
    page.get_by_role("button", name="Save").dblclick()

    expect(page.get_by_text("T-101 was changed.")).to_be_visible()
    assert Loop.objects.get(number="T-101").revision == 2
