"""Work at a panel that no network reaches, and what becomes of it afterwards."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from register.models import SwapDraft, Tag
from register.plant import sketch
from register.services import drafts
from tests import factories
from tests.browser import assert_accessible, assert_fits

browser = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def loop(person):
    return factories.loop(by=person("planner"))


@pytest.mark.django_db
def test_an_area_s_panel_pages_are_named_with_all_that_they_need(loop, person, signed_in):
    factories.loop(sketch.pressure_loop("202"), by=person("planner"), area="Works / Kiln 1")
    found = signed_in("technician").get(f"/offline/area/{loop.area_id}.json").json()
    assert "/panel/TIC-101/" in found["pages"]
    assert not [page for page in found["pages"] if "202" in page]
    assert found["tags"] == sorted(found["tags"])


@pytest.mark.django_db
def test_pages_fetched_to_be_kept_are_not_pages_opened(loop, signed_in):
    client = signed_in("technician")
    client.get("/panel/TIC-101/", headers={"purpose": "prefetch"})
    assert list(client.get("/").context["recent"]) == []


@pytest.mark.django_db
def test_what_was_typed_on_an_older_draft_does_not_overwrite_a_newer_one(loop, person, signed_in):
    tag, technician = Tag.objects.get(name="TIC-101"), person("technician")
    client = signed_in("technician")
    older = drafts.keep_step(tag, "out", {"reason": "first"}, by=technician).kept_at.isoformat()
    drafts.keep_step(tag, "out", {"reason": "at the other device"}, by=technician)

    def sent(kept_at: str) -> int:
        typed = {"reason": "without a network", "kept-at": kept_at}
        return client.post("/tags/TIC-101/replace/out/", typed, headers={"hx-request": "true"}).status_code

    assert [sent(older), sent("")] == [409, 409]
    assert SwapDraft.objects.get().typed == {"out": {"reason": "at the other device"}}
    assert sent(SwapDraft.objects.get().kept_at.isoformat()) == 204
    assert SwapDraft.objects.get().typed == {"out": {"reason": "without a network"}}
    assert sent("whatever") == 204


def keep_the_area(page: Page) -> None:
    page.goto("/offline/")
    page.get_by_role("button", name="Keep on this device").tap()
    expect(page.get_by_text("All of it is kept.")).to_be_visible()
    assert_accessible(page)
    assert_fits(page)


class TestInABrowser:
    pytestmark = browser

    def test_kept_panel_pages_are_read_and_a_swap_is_noted_and_sent(self, phone_page, sign_in, loop, page_faults):
        page = phone_page
        sign_in(page, "technician")
        keep_the_area(page)
        page.reload()
        page.context.set_offline(True)

        page.goto("/panel/TIC-101/")
        expect(page.get_by_text("This page is as it was kept on")).to_be_visible()
        expect(page.get_by_role("heading", level=1)).to_contain_text("TIC-101")
        page.goto("/loops/")
        expect(page.get_by_role("heading", name="Kept on this device:")).to_be_visible()
        page.get_by_role("link", name="TIC-101").tap()
        page.get_by_role("link", name="Replace").tap()
        expect(page.get_by_role("heading", name="TIC-101")).to_be_visible()
        assert_accessible(page)
        assert_fits(page)
        page.get_by_label("Serial number on what came out").fill("SA1012")
        page.get_by_label("faulty").tap()
        page.get_by_label("Reason").fill("Display dark")
        page.get_by_label("Its serial number").fill("S77")
        page.get_by_role("button", name="Keep the note").tap()
        expect(page.get_by_text("is kept on this device and sent when")).to_be_visible()

        page.context.set_offline(False)
        page.goto("/panel/TIC-101/")
        expect(page.get_by_text("what you noted without a network of the swap at TIC-101")).to_be_visible()
        page.get_by_role("link", name="Go on with the swap").first.click()
        expect(page.get_by_label("Reason")).to_have_value("Display dark")
        typed = SwapDraft.objects.get().typed
        assert (typed["out"]["serial_out"], typed["out"]["condition"]) == ("SA1012", "faulty")
        assert (typed["in"]["incoming"], typed["in"]["serial"]) == ("other", "S77")
        page_faults.clear()

    def test_two_versions_are_shown_and_the_person_decides(self, phone_page, sign_in, loop, person, page_faults):
        page = phone_page
        sign_in(page, "technician")
        page.goto("/tags/TIC-101/replace/")
        page.context.set_offline(True)
        page.get_by_label("Reason").fill("Typed here")
        page.get_by_label("faulty").tap()
        expect(page.get_by_text("is kept on this device and sent when")).to_be_visible()
        drafts.keep_step(Tag.objects.get(name="TIC-101"), "out", {"reason": "Elsewhere"}, by=person("technician"))

        page.context.set_offline(False)
        page.goto("/")
        expect(page.get_by_text("it was changed on the register after you lost the network")).to_be_visible()
        expect(page.get_by_text("Typed here", exact=True)).to_be_visible()
        assert_accessible(page)
        assert SwapDraft.objects.get().typed["out"]["reason"] == "Elsewhere"
        page.get_by_role("button", name="Put mine in its place").tap()
        expect(page.get_by_text("what you noted without a network of the swap at TIC-101")).to_be_visible()
        assert SwapDraft.objects.get().typed["out"]["reason"] == "Typed here"
        page_faults.clear()

    def test_signing_out_takes_the_kept_pages_off_the_device(self, phone_page, sign_in, loop):
        page = phone_page
        sign_in(page, "technician")
        keep_the_area(page)
        page.context.clear_cookies()
        page.goto("/sign-in/")
        assert page.evaluate("caches.has('kept')") is False
