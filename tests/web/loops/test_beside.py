"""What opens beside the diagram, and what is done there."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from register.models import Loop
from register.plant import sketch
from tests import factories
from tests.browser import assert_accessible, assert_fits


@pytest.fixture
def loop(person):
    """One warning: the upper set-point limit is out of the range."""
    loop = sketch.with_settings(
        sketch.temperature_loop(range_="0-400 degC"), "TIC-101", set_point_high=sketch.number(450)
    )
    return factories.loop(loop, by=person("planner"))


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("show=tag&tag=TIC-101&place=", "the upper set-point limit is 450 °C"),
        ("show=board&tag=TIC-101&place=1", "Bay 1 of TIC-101"),
        ("show=link&tag=TIC-101&place=Input", "TE-101 Element → TIC-101 Input"),
        ("show=finding&tag=&place=1", "the upper set-point limit is 450 °C"),
        ("show=tag&tag=NO-101&place=", "Touch a tag"),
        ("show=board&tag=TIC-101&place=99", "Touch a tag"),
        ("show=link&tag=TIC-101&place=None", "Touch a tag"),
        ("show=finding&tag=&place=7", "Touch a tag"),
        ("show=nonsense&tag=TIC-101&place=x", "Touch a tag"),
    ],
)
def test_each_part_opens_at_an_address_of_its_own(loop, signed_in, asked, words):
    client = signed_in("planner")
    whole = client.get(f"/loops/T-101/?{asked}").content.decode()
    part = client.get(f"/loops/T-101/?{asked}", headers={"hx-request": "true"}).content.decode()
    assert words in part
    assert part.strip() in whole
    assert "<main" not in part


@pytest.mark.django_db
def test_nothing_is_to_be_changed_there_by_those_who_only_read(loop, signed_in):
    part = signed_in("auditor").get("/loops/T-101/?show=tag&tag=TIC-101&place=").content.decode()
    assert "data-edit-beside" not in part


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_a_planner_touches_a_flag_then_the_tag_and_puts_it_right_beside_the_diagram(page, sign_in, loop):
    sign_in(page, "planner")
    page.goto("/loops/T-101/")
    beside = page.locator("#beside")
    page.get_by_role("link", name="Finding 1").click()
    expect(beside).to_contain_text("the upper set-point limit is 450 °C")
    page.locator(".diagram").get_by_role("link", name="TIC-101", exact=True).click(position={"x": 60, "y": 4})
    expect(beside.get_by_role("heading", name="TIC-101")).to_be_visible()
    assert_accessible(page)
    assert_fits(page)
    page.reload()
    expect(beside.get_by_role("heading", name="TIC-101")).to_be_visible()

    beside.get_by_role("link", name="Settings", exact=True).click()
    beside.get_by_label("Upper set-point limit").fill("350")
    beside.get_by_label(re.compile("^Reason")).fill("Limit set inside the range")
    beside.get_by_role("button", name="What would it change?").click()
    expect(beside).to_contain_text("These findings clear")
    expect(beside.get_by_label("Upper set-point limit")).to_have_value("350")
    assert_accessible(page)
    beside.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Settings of TIC-101 were changed.")).to_be_visible()
    expect(page.get_by_text("No rule has anything to say of this loop.")).to_be_visible()
    expect(beside.get_by_role("heading", name="TIC-101")).to_be_visible()
    assert Loop.objects.get().revision == 2


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_on_a_phone_what_is_touched_opens_below_and_comes_into_view(phone_page, sign_in, loop):
    page = phone_page
    sign_in(page, "technician")
    page.goto("/loops/T-101/")
    page.locator(".diagram").get_by_role("link", name="TIC-101", exact=True).focus()
    page.keyboard.press("Enter")
    expect(page.locator("#beside").get_by_role("heading", name="TIC-101")).to_be_in_viewport()
    assert_fits(page)
