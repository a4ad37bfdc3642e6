"""The planner's work in a list by keyboard, and the same list on a phone, in a real browser."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from register.models import SavedView
from register.plant import sketch
from tests import factories
from tests.browser import assert_accessible, assert_fits

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def plant(person):
    planner = person("planner")
    factories.many_loops(8, by=planner)
    faulty = sketch.with_alarm(sketch.temperature_loop("120"), "TIC-120", "Alarm 1", set_point=sketch.number(900))
    return factories.loop(faulty, by=planner, area="Works / Kiln 1", service="Kiln 1 air-off temperature")


def test_a_planner_works_through_a_list_without_the_mouse(page, sign_in, plant):
    sign_in(page, "planner")
    page.goto("/loops/")
    rows = page.locator(".workbench tbody tr")
    expect(rows).to_have_count(9)

    page.keyboard.press("/")
    page.keyboard.type("temperature")
    expect(rows).to_have_count(5)
    expect(page).to_have_url(re.compile(r"\?q=temperature$"))
    expect(page.locator("#narrow-words")).to_be_focused()
    expect(page.locator("#announcement")).to_have_text("5 in all")
    assert_accessible(page)

    page.keyboard.press("Enter")
    expect(rows.nth(0).get_by_role("link", name="T-101", exact=True)).to_be_focused()
    for key in "jjjjk":
        page.keyboard.press(key)
    expect(rows.nth(3).get_by_role("link", name="T-107", exact=True)).to_be_focused()
    page.keyboard.press("j")
    page.keyboard.press("p")
    beside = page.get_by_role("region", name="T-120 beside the list")
    expect(beside).to_contain_text("Kiln 1 air-off temperature")
    expect(beside.get_by_text("Warning")).to_be_visible()
    expect(rows.nth(4).get_by_role("link", name="T-120", exact=True)).to_be_focused()
    assert_accessible(page)

    page.go_back()
    expect(page).to_have_url(re.compile(r"\?q=temperature$"))
    expect(beside).to_have_count(0)
    expect(rows).to_have_count(5)

    page.get_by_role("link", name=re.compile("^Warning")).press("Enter")
    expect(rows).to_have_count(1)
    expect(page.locator("#actions").get_by_role("link", name="Pack of their sheets")).to_have_attribute(
        "href", re.compile("severity=warning")
    )
    page.get_by_text("Views", exact=True).press("Enter")
    page.get_by_role("link", name="Save this view").press("Enter")
    page.get_by_label("Name").fill("Warnings of temperature")
    page.keyboard.press("Enter")
    expect(page.get_by_text("The view was saved.")).to_be_visible()
    expect(page).to_have_url(re.compile(r"/loops/\?q=temperature&severity=warning$"))
    assert str(SavedView.objects.get()) == "Warnings of temperature"

    page.go_back()
    page.go_back()
    expect(rows).to_have_count(1)
    page.go_back()
    expect(rows).to_have_count(5)
    expect(page.locator("#narrow-words")).to_have_value("temperature")

    page.keyboard.press("j")
    page.keyboard.press("e")
    expect(page).to_have_url(re.compile(r"/loops/T-101/change/$"))
    page.go_back()
    page.keyboard.press("j")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"/loops/T-101/$"))


def test_on_a_phone_a_list_is_narrowed_with_one_thumb(phone_page, sign_in, plant):
    page = phone_page
    sign_in(page, "technician")
    page.goto("/tags/")
    page.get_by_text("Narrow", exact=True).tap()
    page.get_by_role("link", name=re.compile("^Controller")).tap()
    rows = page.locator(".workbench tbody tr")
    expect(rows).to_have_count(9)
    assert_fits(page)
    assert_accessible(page)
    page.locator("#narrow-words").fill("TIC-12")
    expect(rows).to_have_count(1)
    box = page.get_by_text("Narrow", exact=True).bounding_box()
    assert box["height"] >= 44
    rows.nth(0).get_by_role("link", name="TIC-120", exact=True).tap()
    expect(page).to_have_url(re.compile(r"/tags/TIC-120/$"))
