"""A planner brings any index in on one page: columns, questions, rows as they are read, then the dry run."""

from __future__ import annotations

import html
import re
from urllib.parse import urlencode

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from openpyxl import Workbook

from register.exchange.foreign.indexes import LEAVE_OUT, LETTERS, REST
from register.jobs.running import run
from register.models import ImportRun, IndexFile, IndexMapping, Job, PlantSettings, Tag
from tests.browser import assert_accessible, assert_fits
from tests.exchange.foreign import indexes
from tests.exchange.workbooks import saved, workbook

pytestmark = pytest.mark.django_db


@pytest.fixture
def planner(signed_in):
    return signed_in("planner")


def send(client, data: bytes, name: str = "index.csv") -> str:
    """Send a file; the address of its page."""
    answer = client.post("/import/", {"workbook": SimpleUploadedFile(name, data)})
    assert answer.status_code == 302, words(answer)
    return answer["Location"]


def words(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html.unescape(answer.content.decode())).split())


def fields(answer) -> dict[str, str]:
    """What a browser would send back of the page's form as it stands."""
    form = answer.context["form"]
    sent = {field.html_name: field.value() for field in form if field.name != "file"}
    sent = {name: value for name, value in sent.items() if value not in (None, False)}
    for row in answer.context["look"].shown:
        sent |= {cell.name: cell.text for cell in row.cells}
    return sent


def change(client, url: str, **changes: object):
    """Send the form with some of its fields changed (dashes as underscores), and follow to the page."""
    sent = fields(client.get(url)) | {name.replace("_", "-") if name[-1].isdigit() else name: value
                                      for name, value in changes.items()}  # fmt: skip
    return client.post(url, sent, follow=True)


def answered(client, url: str, answers: dict[str, str], **changes: object):
    """Answer the questions with these texts; — leaves empty."""
    page = client.get(url)
    given = {}
    for number, question in enumerate(page.context["form"].questions):
        if (answer := answers.get(question.text)) is not None:
            closed = question.words or question.text == REST
            given |= {f"answer-{number}": answer} if closed or answer != LEAVE_OUT else {f"leave-{number}": "on"}
    return client.post(url, fields(page) | given | changes, follow=True)


def test_a_file_is_read_and_every_guess_says_why(planner):
    page = words(planner.get(send(planner, indexes.mess())))
    assert "6 rows name a tag, in 4 loops; 0 of them stand in the register." in page
    assert "guessed: its heading; 1 of 2 texts can be read so" in page
    assert "TIC-701 new controller, loop T-701, area Darre 1" in page
    assert "3 rows are passed over" in page


def test_what_cannot_be_read_is_asked_once_and_its_answer_holds_for_every_row(planner):
    url = send(planner, indexes.mess())
    page = planner.get(url)
    asked = [(one.text, one.rows) for one in page.context["look"].open]
    assert asked == [("1/8 DIN", 2), ("vier bis zwanzig", 2)]
    page = answered(planner, url, {"1/8 DIN": "1/8 DIN upright", "vier bis zwanzig": "4-20mA"})
    assert page.context["look"].open == []
    assert "Everything can be read. Go on to the dry run." in words(page)
    assert "→ 45 × 92 mm" in words(page)


def test_an_answer_can_be_that_the_cells_are_empty_and_be_taken_back(planner):
    url = send(planner, indexes.mess())
    page = answered(planner, url, {"1/8 DIN": LEAVE_OUT, "vier bis zwanzig": LEAVE_OUT})
    assert page.context["look"].open == []
    page = answered(planner, url, {"vier bis zwanzig": ""})
    assert [one.text for one in page.context["look"].open] == ["vier bis zwanzig"]


def test_one_answer_can_hold_for_all_the_rest(planner):
    url = send(planner, indexes.hai())
    page = change(planner, url, area="Test bed", **rest(planner, url, {"unit": LEAVE_OUT, LETTERS: "transmitter"}))
    assert page.context["look"].hindrances == []


def test_a_cell_is_put_right_in_place(planner):
    url = send(planner, indexes.mess())
    page = change(planner, url, **{"cell-14-5": "K t/c", "cell-13-5": "4-20 mA"})
    assert [one.text for one in page.context["look"].open] == ["1/8 DIN"]
    assert "→ type K thermocouple" in words(page)
    assert "changed here" in words(page)
    page = change(planner, url, **{"cell-14-5": "vier bis zwanzig"})
    assert IndexFile.objects.get().mapping["edits"] == [[13, 5, "4-20 mA"]]


def test_the_file_put_right_is_read_in_the_same_way(planner):
    url = send(planner, indexes.mess())
    answered(planner, url, {"1/8 DIN": "1/8 DIN flat"}, **{"column-4": "loop.normal_value"})
    right = indexes.mess().decode("cp1252").replace("vier bis zwanzig", "4-20mA").encode("utf-8")
    page = change(planner, url, file=SimpleUploadedFile("index2.csv", right))
    assert page.context["look"].open == []
    assert page.context["kept"].name == "index2.csv"
    assert page.context["kept"].mapping["columns"]["4"] == "loop.normal_value"
    assert "Heizventil Süd" in page.content.decode()


def test_a_mapping_is_kept_under_a_name_and_offered_for_the_same_headings(planner):
    url = send(planner, indexes.mess())
    answered(planner, url, {"1/8 DIN": "1/8 DIN flat", "vier bis zwanzig": LEAVE_OUT},
             mapping_name="Kilns", **{"column-9": ""})  # fmt: skip
    assert IndexMapping.objects.get().name == "Kilns"
    again = planner.get(send(planner, indexes.mess().replace(b"TIC-701", b"TIC-799"), "next.csv"))
    assert "Read by the mapping “Kilns”." in words(again)
    assert again.context["look"].open == []
    assert again.context["form"]["column-9"].value() == ""
    other = planner.get(send(planner, indexes.hai(), "other.csv"))
    assert "Kilns" not in words(other)


def test_another_row_of_headings_can_be_chosen(planner):
    url = send(planner, indexes.mess())
    page = change(planner, url, heading_row="11", heading_rows="1")
    assert [row.entry.row for row in page.context["look"].shown] == [12, 13, 14]
    assert page.context["form"]["heading_row"].value() == 11


def test_another_sheet_can_be_chosen(planner):
    url = send(planner, indexes.tennessee(), "points.xlsx")
    assert planner.get(url).context["kept"].sheet == "Points"
    page = change(planner, url, sheet="Cover")
    assert page.context["kept"].sheet == "Cover"
    assert "No column is the tag. Choose one." in words(page)
    page = change(planner, url, sheet="Points")
    assert page.context["form"]["heading_row"].value() == 3


def test_another_encoding_can_be_chosen(planner):
    url = send(planner, indexes.mess())
    page = change(planner, url, encoding="cp850")
    assert "Heizventil Süd" not in page.content.decode()
    page = change(planner, url, encoding="cp1252")
    assert "Heizventil Süd" in page.content.decode()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"patterns": "{letter}-{number}"}, "there is no part {letter}"),
        ({"column-1": "tag"}, "“Tag” is Tag already. Choose it for one column."),
        ({"heading_row": "nought"}, "Enter a whole number."),
        ({"column-1": "colour"}, "Select a valid choice."),
        ({"file": SimpleUploadedFile("x.png", b"\x89PNG\r\n\x1a\n\x00\x00")}, "The file is no table"),
    ],
)
def test_a_wrong_choice_is_told_and_nothing_of_it_is_kept(changes, says, planner):
    url = send(planner, indexes.mess())
    before = IndexFile.objects.get().mapping
    page = planner.post(url, fields(planner.get(url)) | {"area": "typed before"} | changes)
    assert page.status_code == 200
    assert says in words(page)
    assert "typed before" in page.content.decode()
    assert IndexFile.objects.get().mapping == before


@pytest.mark.parametrize(("data", "says"), [(b"", "The file is empty"), (bytes(300), "The file is no table")])
def test_a_file_that_cannot_be_read_is_told_in_a_sentence(data, says, planner):
    answer = planner.post("/import/", {"workbook": SimpleUploadedFile("x.csv", data)})
    assert answer.status_code == 200
    assert says in words(answer)
    assert not IndexFile.objects.exists()


def test_what_stands_in_a_cell_is_shown_as_text(planner):
    page = planner.get(send(planner, b"Tag;Service\nTIC-101;<script>alert(1)</script>\n"))
    assert b"<script>alert" not in page.content
    assert b"&lt;script&gt;alert(1)" in page.content


def test_a_file_that_was_begun_is_listed_until_it_is_discarded(planner):
    url = send(planner, indexes.mess())
    assert "index.csv" in words(planner.get("/import/"))
    planner.post(f"{url}discard/")
    assert not IndexFile.objects.exists()
    assert planner.get(url).status_code == 404


def test_the_queries_of_the_page_do_not_grow_with_the_rows(planner, django_assert_max_num_queries):
    rows = "".join(f"PT-{number};Service {number};0-10 bar\n" for number in range(400))
    url = send(planner, f"Tag;Service;Range\n{rows}".encode())
    with django_assert_max_num_queries(20):
        assert planner.get(url).context["look"].rows == 400


def test_how_the_plant_writes_its_tags_is_explained_tried_and_set(signed_in):
    planner, administrator = signed_in("planner"), signed_in("administrator")
    page = words(planner.get("/import/index/tags/?" + urlencode({"tags": "10-TIC-0101A\r\nwhatever"})))
    assert "10-TIC-0101A 10 TIC 0101 A 10-TIC-0101A 10-T-0101 controller" in page
    assert "whatever It fits no pattern" in page
    assert "P1_FCV02Z P1 FCV 02 Z P1_FCV02Z P1_F02 final element" in page
    assert planner.post("/import/index/tags/", {"tag_patterns": "{letters}{number}"}).status_code == 403
    PlantSettings.objects.create(name="Works")
    refused = administrator.post("/import/index/tags/", {"tag_patterns": "{letters}"})
    assert "a pattern needs {letters} and {number}" in words(refused)
    administrator.post("/import/index/tags/", {"tag_patterns": "{letters}({number})"})
    url = send(planner, b"Tag;Unit;Description\nPT(1);bar;x\nTT(2);degC;y\n")
    assert planner.get(url).context["look"].fit == 2


def rest(client, url: str, answers: dict[str, str]) -> dict[str, str]:
    """Fields that answer every open question of a target (by its key) alike."""
    questions = client.get(url).context["form"].questions
    return {f"answer-{number}": answers[one.key] for number, one in enumerate(questions) if one.text == REST}


def brought_in(client, url: str, **changes: object):
    """Press for the dry run, then for the import, and wait for it; the page of the run."""
    page = client.post(url, fields(client.get(url)) | changes | {"run": "1"}, follow=True)
    run_page = page.redirect_chain[-1][0]
    assert "Nothing is imported yet." in words(page)
    client.post(run_page)
    run(Job.objects.latest("pk").pk)
    return client.get(run_page)


def test_the_dry_run_waits_until_everything_is_answered(planner):
    url = send(planner, indexes.mess())
    page = planner.post(url, fields(planner.get(url)) | {"run": "1"})
    assert page.status_code == 200
    assert "The dry run has to wait: 2 questions are open." in words(page)
    assert not ImportRun.objects.exists()


def test_points_of_the_test_bed_come_in_by_the_page_alone(planner):
    url = send(planner, indexes.hai())
    answered(planner, url, {"Voltage": "V"}, area="Test bed", mapping_name="Points",
             **rest(planner, url, {"unit": LEAVE_OUT, LETTERS: "set-point source"}))  # fmt: skip
    assert "All of it was imported." in words(brought_in(planner, url))
    assert Tag.objects.count() == 87
    assert Tag.objects.get(name="P1_FT01").loop.area.code == "P1"


def test_points_of_the_process_come_in_by_the_page_alone(planner):
    url = send(planner, indexes.tennessee(), "points.xlsx")
    roles = {"measured": "transmitter", "manipulated": "final element"}
    answered(planner, url, roles | {"kscmh": LEAVE_OUT, "mol%": "%"}, area="TE")
    assert "All of it was imported." in words(brought_in(planner, url))
    assert Tag.objects.count() == 53 + 20
    assert sorted(Tag.objects.filter(loop__number="CTRL10").values_list("name", flat=True)) == [
        "CTRL(10)", "XMEAS(21)", "XMV(10)",
    ]  # fmt: skip


def test_loops_with_their_numbers_first_come_in_by_the_page_alone(planner):
    url = send(planner, indexes.number_first(), "loops.ods")
    answered(planner, url, {"kscmh": LEAVE_OUT}, area="TE", **{"column-2": "loop.normal_value"})
    assert "All of it was imported." in words(brought_in(planner, url))
    assert sorted(Tag.objects.filter(loop__number="110T").values_list("name", flat=True)) == ["110TC", "110TT", "110TV"]


def test_problems_lead_back_to_the_page_by_the_sheet_row_and_heading_of_the_index(planner):
    url = send(planner, b"Tag;Area;LRV;URV;Unit\nTT-1;Kiln;0;100;degC\nTT-2;Kiln;50;20;degC\n", "bad.csv")
    page = planner.post(url, fields(planner.get(url)) | {"run": "1"}, follow=True)
    assert "bad.csv 3 URV 20 A range runs from its low end to its high end" in words(page)
    assert f'href="{url}"' in page.content.decode()
    assert "refused" in words(planner.get("/import/"))
    right = change(planner, url, **{"cell-3-2": "20", "cell-3-3": "50"})
    assert "changed here" in words(right)
    assert "All of it was imported." in words(brought_in(planner, url))


def test_a_workbook_of_the_registers_own_is_told_from_an_index(planner):
    """An index may have a sheet called Tags."""
    book = Workbook()
    book.active.title = "Tags"
    book.active.append(["Tag", "Service", "Range"])
    book.active.append(["TIC-101", "Kiln", "0-250 degC"])
    url = send(planner, saved(book), "tags.xlsx")
    assert planner.get(url).context["look"].rows == 1
    own = planner.post("/import/", {"workbook": SimpleUploadedFile("plant.xlsx", workbook())})
    assert own["Location"].startswith("/import/runs/")


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_a_planner_brings_the_mess_in_at_the_desk(page, sign_in):
    sign_in(page, "planner")
    page.goto("/import/")
    page.get_by_label("File").set_input_files(
        {"name": "Instrumentenliste.csv", "mimeType": "text/csv", "buffer": indexes.mess()}
    )
    page.get_by_role("button", name="Look at it").click()
    page.get_by_role("heading", name="Instrumentenliste.csv").wait_for()
    assert_accessible(page)
    assert_fits(page)
    page.get_by_label("What “vier bis zwanzig” means").select_option("4-20mA")
    page.get_by_label("Ausschnitt, row 13").fill("1/8 DIN upright")
    page.get_by_label("Ausschnitt, row 7").fill("1/8 DIN upright")
    page.get_by_label("Keep this mapping as").fill("Kilns")
    page.get_by_role("button", name="Look again").last.click()
    page.get_by_text("Everything can be read. Go on to the dry run.").wait_for()
    page.get_by_role("button", name="Dry run").first.click()
    page.get_by_text("Nothing is imported yet.").wait_for()
    page.get_by_role("button", name="Import").click()
    page.get_by_text("All of it was imported.").wait_for()
    page.goto("/tags/TIC-701/")
    page.get_by_text("Trocknungsluft Regler").first.wait_for()
