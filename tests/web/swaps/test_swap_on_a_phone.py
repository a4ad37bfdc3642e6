"""The technician's job, done in a real browser at a phone's size."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from register.models import Asset, SwapDraft, Tag
from register.plant import sketch
from tests import factories
from tests.browser import assert_accessible, assert_fits

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def spare(person) -> Asset:
    factories.loop(by=person("planner"))
    return factories.asset("SPARE1", sketch.controller_model())


class Hand:
    """Counts what a hand does: a tap, or keys pressed one after another in one field."""

    def __init__(self, page: Page):
        self.page, self.count = page, 0

    def tap(self, what) -> None:
        what.tap()
        self.count += 1

    def keys(self, text: str) -> None:
        self.page.keyboard.type(text)
        self.count += 1

    def press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.count += 1

    def next(self) -> None:
        self.tap(self.page.get_by_role("button", name="Next"))


def fill_in_what_came_out(hand: Hand) -> None:
    page = hand.page
    hand.tap(page.get_by_label("Serial number on what came out"))
    hand.keys("SA1012")
    hand.tap(page.get_by_label("faulty"))
    hand.tap(page.get_by_label("Reason"))
    hand.keys("Display dark")


def look_at(page: Page, step: str) -> None:
    expect(page.get_by_role("heading", level=1)).to_contain_text(step)
    assert_accessible(page)
    assert_fits(page)


def test_a_swap_with_moved_boards_takes_fewer_than_25_taps_from_search_to_new_sheet(phone_page, sign_in, spare):
    page = phone_page
    sign_in(page, "technician")
    page.goto("/")
    hand = Hand(page)

    hand.tap(page.get_by_label("Search the register"))
    hand.keys("TIC-101")
    hand.press("Enter")
    hand.tap(page.get_by_role("link", name="Replace"))
    fill_in_what_came_out(hand)
    look_at(page, "What came out")
    hand.next()
    hand.tap(page.get_by_label("serial SSPARE1"))
    look_at(page, "What goes in")
    hand.next()
    look_at(page, "Boards")
    assert page.get_by_label("Bay 1").input_value() == "move-1"
    hand.next()
    look_at(page, "Settings as left")
    hand.next()
    look_at(page, "Check and save")
    expect(page.get_by_text("No finding appears and none clears.")).to_be_visible()
    hand.tap(page.get_by_role("button", name="Save the swap"))
    expect(page.get_by_text("revision 2 of T-101")).to_be_visible()
    look_at(page, "TIC-101")
    sheet = page.request.get(page.get_by_role("link", name="Loop sheet").get_attribute("href"))
    hand.count += 1  # the tap on that link, which would leave the page for the browser's PDF viewer
    assert sheet.headers["content-type"] == "application/pdf"

    assert hand.count == 16
    assert Tag.objects.get(name="TIC-101").installations.current().get().asset == spare
    assert sorted(one.bay for one in spare.board_fittings.current()) == ["1", "2"]


def test_what_was_typed_survives_a_cut_network_and_a_closed_browser(phone_page, open_page, sign_in, spare, page_faults):
    page = phone_page
    sign_in(page, "technician")
    page.goto("/tags/TIC-101/replace/")
    with page.expect_response(lambda answer: answer.status == 204):
        page.get_by_label("Serial number on what came out").fill("SA1012")
        page.get_by_label("Reason").tap()
    page.context.set_offline(True)
    page.get_by_label("Reason").fill("Display dark")
    page.get_by_label("faulty").tap()
    expect(page.get_by_text("kept on this device and sent when the network answers again")).to_be_visible()
    assert page.get_by_label("Reason").input_value() == "Display dark"
    page_faults.clear()
    page.context.set_offline(False)
    page.get_by_role("button", name="Next").tap()
    expect(page.get_by_text("serial SSPARE1")).to_be_visible()
    page.context.close()

    other = open_page()
    sign_in(other, "technician")
    other.goto("/panel/TIC-101/")
    other.get_by_role("link", name="Go on with the swap").click()
    assert other.get_by_label("Reason").input_value() == "Display dark"
    assert other.get_by_label("Serial number on what came out").input_value() == "SA1012"


def test_a_swap_saved_in_two_windows_is_recorded_once(phone_page, sign_in, spare):
    page = phone_page
    sign_in(page, "technician")
    page.goto("/tags/TIC-101/replace/")
    hand = Hand(page)
    fill_in_what_came_out(hand)
    hand.next()
    hand.tap(page.get_by_label("serial SSPARE1"))
    for step in ("What goes in", "Boards", "Settings as left"):
        expect(page.get_by_role("heading", level=1)).to_contain_text(step)
        hand.next()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Check and save")
    second = page.context.new_page()
    second.goto("/tags/TIC-101/replace/review/")
    for one in (page, second):
        one.get_by_role("button", name="Save the swap").click()
        expect(one.get_by_text("revision 2 of T-101")).to_be_visible()
    assert SwapDraft.objects.get().recorded.number == 2
    assert Tag.objects.get(name="TIC-101").installations.count() == 2
