"""The planner sends a workbook and sees what it did, or everything that is wrong with it."""

from __future__ import annotations

import re
from io import BytesIO
from urllib.parse import urljoin

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from register.exchange.reading import read_workbook
from register.models import Loop
from tests.browser import assert_accessible, assert_fits
from tests.exchange.workbooks import changed, workbook

pytestmark = pytest.mark.django_db


def send(client, data: bytes, name: str = "plant.xlsx"):
    return client.post("/import/", {"workbook": SimpleUploadedFile(name, data)})


def words(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def test_a_right_workbook_is_imported_and_the_rows_are_counted(signed_in):
    answer = send(signed_in("planner"), workbook())
    assert answer.status_code == 200
    assert "All of it was imported." in words(answer)
    assert re.search(r"Tags 2 0 0 Ports 3 0 0", words(answer))
    assert Loop.objects.count() == 1


def test_the_same_workbook_again_changes_nothing_and_says_so(signed_in):
    send(signed_in("planner"), workbook())
    answer = send(signed_in("planner"), workbook())
    assert "The register already held all of it. Nothing was changed." in words(answer)
    assert re.search(r"Tags 0 0 2", words(answer))


def test_every_problem_is_listed_with_its_place(signed_in):
    rows = changed("Tags", 3, Specified_model="Regent 97")
    rows["Loops"][0]["Criticality"] = "vital"
    answer = send(signed_in("planner"), workbook(rows))
    assert answer.status_code == 200
    assert "plant.xlsx was not imported 2 problems were found" in words(answer)
    assert "Loops 2 Criticality vital It must be one of: safety, environment, production, routine." in words(answer)
    assert "Tags 3 Specified model Regent 97 There is no catalogue model “Fennel Row Regent 97”" in words(answer)
    assert not Loop.objects.exists()


@pytest.mark.parametrize("data", [b"", b"\x89PNG\r\n\x1a\n" + bytes(100)], ids=["empty", "a picture"])
def test_a_file_that_is_no_workbook_is_told_in_a_sentence(data, signed_in):
    answer = send(signed_in("planner"), data)
    assert answer.status_code == 200
    assert "One problem was found" in words(answer)
    assert "the whole workbook" in words(answer)


def test_a_form_without_a_file_is_told_so(signed_in):
    answer = signed_in("planner").post("/import/", {})
    assert answer.status_code == 200
    assert "Workbook : This field is required." in words(answer)


def test_what_stands_in_a_cell_is_shown_as_text(signed_in):
    answer = send(signed_in("planner"), workbook(changed("Loops", 2, Kind="<script>alert(1)</script>")))
    assert b"&lt;script&gt;alert(1)&lt;/script&gt;" in answer.content
    assert b"<script>alert" not in answer.content


def test_a_long_list_of_problems_is_cut_and_says_so(signed_in):
    rows = changed("Tags", 3, Role="gauge")
    rows["Tags"] += [{"Tag": f"PT-{number}", "Loop": "P-101", "Role": "gauge"} for number in range(1000, 1600)]
    answer = send(signed_in("planner"), workbook(rows))
    assert "601 problems were found" in words(answer)
    assert "The first 500 are listed." in words(answer)
    assert answer.content.count(b"It must be one of: sensor") == 500


@pytest.mark.parametrize("role", ["technician", "auditor"])
def test_who_may_not_import_is_told_who_may(role, signed_in):
    client = signed_in(role)
    assert client.get("/import/").status_code == 403
    answer = send(client, workbook())
    assert answer.status_code == 403
    assert "These roles may: planner, administrator" in words(answer)
    assert not Loop.objects.exists()


@pytest.mark.parametrize("address", ["register.xlsx", "blank.xlsx"])
def test_everybody_may_take_the_register_and_the_blank_workbook_home(address, signed_in):
    send(signed_in("planner"), workbook())
    answer = signed_in("auditor").get(urljoin("/import/", address))
    reading = read_workbook(BytesIO(b"".join(answer.streaming_content)).getvalue())
    assert reading.problems == []
    assert len(reading.sheets[Loop].rows) == (address == "register.xlsx")


@pytest.mark.browser
@pytest.mark.parametrize("device", ["page", "phone_page"])
def test_a_planner_imports_in_the_browser(device, request, sign_in):
    page = request.getfixturevalue(device)
    sign_in(page, "planner")
    page.goto("/import/")
    assert_accessible(page)
    assert_fits(page)
    bad = {
        "name": "plant.xlsx",
        "mimeType": "application/octet-stream",
        "buffer": workbook(changed("Tags", 3, Role="gauge")),
    }
    page.get_by_label("Workbook").set_input_files(bad)
    page.get_by_role("button", name="Import").click()
    page.get_by_role("heading", name="plant.xlsx was not imported").wait_for()
    assert_accessible(page)
    assert_fits(page)
    page.get_by_label("Workbook").set_input_files(bad | {"buffer": workbook()})
    page.get_by_role("button", name="Import").click()
    page.get_by_text("All of it was imported.").wait_for()
    assert_accessible(page)
    assert_fits(page)
