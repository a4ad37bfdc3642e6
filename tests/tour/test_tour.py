"""The README's tour, walked on the demo plant; with REGISTER_WRITE_TOUR=1 its pictures are taken anew."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from django.conf import settings
from playwright.sync_api import Page, expect

from register.exchange.demo import load_demo
from tests.browser import DESK, PHONE, assert_fits

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PICTURES = settings.BASE_DIR / "static" / "tour"
WRITE = bool(os.environ.get("REGISTER_WRITE_TOUR"))


def picture(page: Page, name: str) -> None:
    assert_fits(page)
    if WRITE:
        page.screenshot(path=PICTURES / f"{name}.png")


def picture_of_sheet(content: bytes, name: str, scratch: Path) -> None:
    assert content.startswith(b"%PDF-")
    if WRITE:
        (scratch / "sheet.pdf").write_bytes(content)
        options = ["-png", "-r", "100", "-singlefile", "-f", "1"]
        subprocess.run([shutil.which("pdftoppm"), *options, scratch / "sheet.pdf", PICTURES / name], check=True)


def test_the_tour_leads_where_the_readme_says(open_page, sign_in, person, tmp_path):
    load_demo(by=person("planner"))
    page = open_page(DESK)
    sign_in(page, "planner")

    page.goto("/loops/?severity=warning")
    picture(page, "loops")

    page.get_by_role("link", name="F-110", exact=True).click()
    expect(page.get_by_text("at a true 120 m³/h it shows 100 m³/h")).to_be_visible()
    picture(page, "loop")

    page.get_by_role("region", name="Findings").get_by_role("link", name="FR-110").click()
    page.get_by_role("region", name="Ports").get_by_role("link").first.click()
    page.get_by_label("Range high").fill("120")
    page.get_by_label(re.compile("^Reason")).fill("Chart scaled as the controller sends it")
    page.get_by_role("button", name="What would it change?").click()
    preview = page.get_by_role("status", name="What saving would change")
    expect(preview).to_contain_text("These findings clear")
    expect(preview).not_to_contain_text("These findings appear")
    picture(page, "what-if")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("No rule has anything to say of this tag.")).to_be_visible()

    page.goto("/loops/F-110/")
    sheet = page.request.get(page.get_by_role("link", name="Loop sheet (PDF)").get_attribute("href"))
    picture_of_sheet(sheet.body(), "sheet", tmp_path)

    page.goto("/spares/")
    picture(page, "spares")

    phone = open_page(PHONE)
    sign_in(phone, "technician")
    phone.goto("/tags/FIC-110/")
    picture(phone, "phone")
