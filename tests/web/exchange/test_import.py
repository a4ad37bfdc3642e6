"""The planner sends a workbook, sees what it would do or everything that is wrong with it, and has it brought in."""

from __future__ import annotations

import re
from io import BytesIO
from urllib.parse import urljoin

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from register.exchange.reading import read_workbook
from register.jobs.running import run
from register.models import Finding, ImportRun, Job, Loop
from tests.browser import assert_accessible, assert_fits
from tests.exchange.workbooks import changed, workbook

pytestmark = pytest.mark.django_db


def send(client, data: bytes, name: str = "plant.xlsx"):
    """The page on which the sending ends."""
    return client.post("/import/", {"workbook": SimpleUploadedFile(name, data)}, follow=True)


def confirm(client):
    """Have the latest proposal brought in."""
    page = f"/import/runs/{ImportRun.objects.first().pk}/"
    client.post(page)
    run(Job.objects.latest("pk").pk)
    return client.get(page)


def words(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def test_a_right_workbook_is_looked_at_first_and_imported_when_the_planner_says_so(signed_in):
    client = signed_in("planner")
    answer = send(client, workbook())
    assert "Nothing is imported yet." in words(answer)
    assert re.search(r"Tags 2 0 0 Ports 3 0 0", words(answer))
    assert "Loops 2 P-101 added" in words(answer)
    assert not Loop.objects.exists()

    answer = confirm(client)

    assert "All of it was imported." in words(answer)
    assert Loop.objects.count() == 1


def test_a_changed_fact_is_shown_old_and_new_in_the_words_of_its_sheet(signed_in):
    client = signed_in("planner")
    send(client, workbook())
    confirm(client)
    answer = send(client, workbook(changed("Ports", 2, Unit="kPa(g)", Signal="0-10 V")))
    assert "Ports 2 PT-101 Output Signal: 4–20 mA → 0–10 V Unit: bar (gauge) → kPa (gauge)" in words(answer)


def test_the_findings_that_would_come_and_go_are_told(signed_in):
    """Other signal at one end of a link: found when the import is tried, and gone again with the trial."""
    client = signed_in("planner")
    send(client, workbook())
    confirm(client)
    stood = set(Finding.objects.open().values_list("rule", flat=True))
    page = send(client, workbook(changed("Ports", 2, Signal="0-10 V"))).redirect_chain[-1][0]
    assert "P-101 appears Error PIC-101: " in words(client.get(f"{page}?show=findings"))
    assert set(Finding.objects.open().values_list("rule", flat=True)) == stood
    confirm(client)
    assert "signals-of-different-kind" in set(Finding.objects.open().values_list("rule", flat=True)) - stood


def test_the_same_workbook_again_changes_nothing_and_says_so(signed_in):
    client = signed_in("planner")
    send(client, workbook())
    confirm(client)
    answer = send(client, workbook())
    assert "The register holds all of it already. There is nothing to import." in words(answer)
    assert re.search(r"Tags 0 0 2", words(answer))


def test_every_problem_is_listed_with_its_place(signed_in):
    rows = changed("Tags", 3, Specified_model="Regent 97")
    rows["Loops"][0]["Criticality"] = "vital"
    answer = send(signed_in("planner"), workbook(rows))
    assert answer.status_code == 200
    assert "2 problems were found, and nothing in the register was changed." in words(answer)
    assert "Loops 2 Criticality vital It must be one of: safety, environment, production, routine." in words(answer)
    assert "Tags 3 Specified model Regent 97 There is no catalogue model “Fennel Row Regent 97”" in words(answer)
    assert not Loop.objects.exists()


@pytest.mark.parametrize("data", [b"", b"\x89PNG\r\n\x1a\n" + bytes(100)], ids=["empty", "a picture"])
def test_a_file_that_is_no_workbook_is_told_in_a_sentence(data, signed_in):
    answer = send(signed_in("planner"), data)
    assert answer.status_code == 200
    assert re.search(r"The file is (empty|no table)", words(answer))
    assert not ImportRun.objects.exists()


def test_a_form_without_a_file_is_told_so(signed_in):
    answer = signed_in("planner").post("/import/", {})
    assert answer.status_code == 200
    assert "File : This field is required." in words(answer)


def test_what_stands_in_a_cell_is_shown_as_text(signed_in):
    answer = send(signed_in("planner"), workbook(changed("Loops", 2, Kind="<script>alert(1)</script>")))
    assert b"&lt;script&gt;alert(1)&lt;/script&gt;" in answer.content
    assert b"<script>alert" not in answer.content


def test_a_long_list_of_problems_stands_on_pages(signed_in, django_assert_max_num_queries):
    rows = changed("Tags", 3, Role="gauge")
    rows["Tags"] += [{"Tag": f"PT-{number}", "Loop": "P-101", "Role": "gauge"} for number in range(1000, 1600)]
    client = signed_in("planner")
    answer = send(client, workbook(rows))
    assert "1 to 100 of 601" in words(answer)
    with django_assert_max_num_queries(12):
        last = client.get(f"{answer.redirect_chain[-1][0]}?page=7")
    assert last.content.count(b"It must be one of: sensor") == 1


def test_a_proposal_that_is_put_aside_cannot_be_imported(signed_in):
    client = signed_in("planner")
    send(client, workbook())
    page = f"/import/runs/{ImportRun.objects.get().pk}/"
    client.post(f"{page}cancel/")
    answer = client.post(page, follow=True)
    assert "This import is cancelled. Send the file again." in words(answer)
    assert "plant.xlsx cancelled" in words(client.get("/import/runs/"))
    assert not Loop.objects.exists()


@pytest.mark.parametrize("role", ["technician", "auditor"])
def test_who_may_not_import_is_told_who_may(role, signed_in):
    client = signed_in(role)
    assert client.get("/import/").status_code == 403
    answer = send(client, workbook())
    assert answer.status_code == 403
    assert "These roles may: planner, administrator" in words(answer)
    assert not ImportRun.objects.exists()


@pytest.mark.parametrize("address", ["register.xlsx", "blank.xlsx"])
def test_everybody_may_take_the_register_and_the_blank_workbook_home(address, signed_in):
    client = signed_in("planner")
    send(client, workbook())
    confirm(client)
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
    page.get_by_label("File").set_input_files(bad)
    page.get_by_role("button", name="Look at it").click()
    page.get_by_text("One problem was found").wait_for()
    assert_accessible(page)
    assert_fits(page)
    page.get_by_role("link", name="Send another file").click()
    page.get_by_label("File").set_input_files(bad | {"buffer": workbook()})
    page.get_by_role("button", name="Look at it").click()
    page.get_by_text("Nothing is imported yet.").wait_for()
    assert_accessible(page)
    assert_fits(page)
    page.get_by_role("button", name="Import", exact=True).click()
    page.get_by_text("All of it was imported.").wait_for()
    assert_accessible(page)
    assert_fits(page)
