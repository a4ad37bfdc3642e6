import io
import os
import subprocess
import sys
from datetime import UTC, date, datetime

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from register.plant import codec, sketch
from register.plant.diff import changes
from register.plant.values import Loop
from register.plant.words import LoopKind, Severity
from register.rules.engine import Verdict, finding
from register.sheets.diagram import draw
from register.sheets.sheet import PAPERS, ConcessionNote, IssueNote, RevisionNote, render_sheet
from tests.sheets import samples
from tests.sheets.archivable import faults
from tests.sheets.strategies import loops

NOTE = RevisionNote(3, datetime(2025, 3, 1, 9, 30, tzinfo=UTC), "A. Planner", "Range changed after commissioning")


def sheet(loop: Loop, verdicts=(), **facts) -> bytes:
    return render_sheet(
        loop,
        verdicts,
        **({"revision": NOTE, "plant_name": "Works", "live_url": "https://register.example/loops/X/"} | facts),
    )


def opened(content: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(content))


def words(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    "fact",
    [
        "T-101",
        "Hot water temperature",
        "Works / Boiler house",
        "production",
        "0–200 °C",
        "A. Planner",
        "Range changed after commissioning",
        "2025-03-01",
        "Quarrymoor Probe pt100",
        "A1012, SA1012",
        "Panel P1, row 2",
        "230 V a.c.",
        "fails closed (FC)",
        "Proportional band",
        "12 %",
        "Fennel Row Linear board",
        "linear output, relay, solid-state-relay driver",
        "Alarm 1",
        "160 °C",
        "de-energises",
        "138.505 Ω",
        "TIC-101: Input 1",
        "compensation",
        "4 cores × 1.5 mm²",
        "screened, earthed at panel",
        "https://register.example/loops/X/",
    ],
)
def test_a_sheet_holds_what_a_stranger_needs(fact, pdf_text, right_sheet):
    assert fact in words(pdf_text(right_sheet))


@pytest.fixture(scope="module")
def right_sheet() -> bytes:
    return sheet(sketch.temperature_loop())


def test_missing_facts_are_marked(pdf_text):
    loop = sketch.with_tag(sketch.temperature_loop(), "TE-101", asset=None, specified=None, place="")
    text = words(pdf_text(sheet(loop, revision=None)))
    assert "nothing installed" in text
    assert "place not recorded" in text
    assert "none: not recorded in the register" in text


def test_findings_stand_with_their_remedy_and_their_concession(pdf_text):
    loop = sketch.temperature_loop()
    verdict = Verdict("board-not-taken-by-bay", Severity.ERROR, finding("TIC-101", "the board is wrong", place="bay 2"))
    note = ConcessionNote("Chief engineer", date(2025, 9, 30), "spare on order", "CN 12")
    text = words(pdf_text(sheet(loop, [verdict], concessions={verdict.identity: note})))
    assert "the board is wrong" in text
    assert "Concession until 2025-09-30" in text
    assert "Chief engineer: spare on order (CN 12)" in text
    assert "ove the board to a bay" in text


@pytest.mark.parametrize(
    ("loop", "caution"),
    [
        (samples.with_isolator(), "Hazardous area."),
        (samples.heat_and_cool(), "Mains may be present"),
        (samples.replace(sketch.temperature_loop(), kind=LoopKind.TRIP), "Safety loop."),
    ],
)
def test_cautions_stand_on_sheets_of_work_that_can_hurt(loop, caution, pdf_text):
    assert caution in words(pdf_text(sheet(loop)))


def test_what_was_changed_since_the_last_issue_is_marked_at_its_place_and_listed(pdf_text):
    before = sketch.temperature_loop()
    loop = sketch.with_settings(before, "TIC-101", filter_s=sketch.number(5))
    loop = sketch.with_alarm(loop, "TIC-101", "Alarm 1", set_point=sketch.number(170))
    loop = samples.replace(sketch.with_tag(loop, "TE-101", place="Tank 2"), service="Wort temperature")
    text = words(pdf_text(sheet(loop, issue=IssueNote(number=2, revision=3, since=1, is_this=True, before=before))))
    for mark in (
        "Δ Wort temperature",
        "Δ 5",
        "Δ 170 °C",
        "Δ field, Tank 2",
        "Δ marks what was changed since issue 1",
    ):
        assert mark in text
    assert "Δ 12 %" not in text
    assert "TIC-101 settings filter s 2 5" in text
    (drawing,) = draw(loop, changes=changes(before, loop))
    assert len(drawing.change_marks) == 4  # the sensor, the controller, the alarm's relay; and the legend


def test_a_sheet_like_its_last_issue_bears_no_mark(pdf_text):
    loop = sketch.temperature_loop()
    assert "Δ" not in pdf_text(sheet(loop, issue=IssueNote(number=2, revision=3, since=1, is_this=True, before=loop)))


def test_an_old_sheet_says_so_on_its_face_and_foot(pdf_text):
    text = words(pdf_text(sheet(sketch.temperature_loop(), as_on=date(2025, 3, 1))))
    assert "As it stood on 2025-03-01." in text
    assert "as it stood on 2025-03-01 ·" in text


def test_pages_are_numbered(pdf_text, right_sheet):
    pages = pdf_text(right_sheet).count("\f")
    assert f"page {pages} of {pages}" in words(pdf_text(right_sheet))


@pytest.mark.parametrize(("paper", "size"), [("A4", (842, 595)), ("A3", (1191, 842)), ("Letter", (792, 612))])
def test_papers_have_their_size_in_points(paper, size):
    """ISO 216 (297 × 210 mm, 420 × 297 mm) and ANSI/ASME Y14.1 (11 × 8.5 inch), 72 points to the inch."""
    document = opened(sheet(sketch.temperature_loop(), paper=paper))
    assert {tuple(round(float(one)) for one in page.mediabox[2:]) for page in document.pages} == {size}


def test_every_paper_of_the_plant_settings_can_be_printed():
    from register.models import PlantSettings

    assert {value for value, _ in PlantSettings._meta.get_field("paper").choices} == set(PAPERS)


def test_the_same_loop_gives_the_same_bytes_in_another_process(right_sheet):
    program = (
        "import django; django.setup()\n"
        "import sys; from tests.sheets.test_sheet import sheet, sketch\n"
        "sys.stdout.buffer.write(sheet(sketch.temperature_loop()))"
    )
    other = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        check=True,
        env={"DJANGO_SETTINGS_MODULE": "tests.settings", "PYTHONHASHSEED": "7", "PATH": "/usr/bin:/bin"},
    )
    assert other.stdout == right_sheet


def test_the_pdf_is_archivable_tagged_and_carries_the_loop(right_sheet):
    """ISO 19005-3 (PDF/A-3a): part 3, conformance A, marked content, a language, the source file attached."""
    document = opened(right_sheet)
    with document.open_metadata() as metadata:
        assert metadata.pdfa_status == "3A"
        assert metadata["dc:title"] == "Loop sheet T-101"
    assert document.Root.MarkInfo.Marked
    assert document.Root.Lang == "en"
    assert document.attachments["loop.json"].get_file().read_bytes() == codec.encode(sketch.temperature_loop())
    assert str(document.docinfo.CreationDate).startswith("D:20250301093000")


def test_nothing_that_an_archive_forbids_is_in_a_sheet():
    """With findings, links to other loops and text in several scripts; what faults() looks for stands there."""
    loop = sketch.with_tag(sketch.cascade(), sketch.cascade().tags[0].name, description="ميزان Größe")
    said = [Verdict("rule", severity, finding(loop.tags[0].name, "wrong")) for severity in Severity]
    content = sheet(loop, said, link_for=lambda number: f"https://register.example/loops/{number}/")
    assert faults(content) == []


def test_references_to_other_loops_can_be_followed():
    linked = sheet(sketch.cascade(), link_for=lambda number: f"https://register.example/loops/{number}/")
    document = opened(linked)
    addresses = [str(one.A.URI) for page in document.pages for one in page.get("/Annots", [])]
    assert addresses == ["https://register.example/loops/T-110/"]


def test_a_loop_with_nothing_in_it_gets_a_sheet(pdf_text):
    text = words(pdf_text(sheet(samples.ALL["empty"]())))
    assert "X-1" in text
    assert "No tag is recorded." in text
    assert "No link is recorded." in text


def test_hostile_text_is_printed_and_not_read(pdf_text):
    loop = sketch.with_tag(sketch.temperature_loop(), "TE-101", description="\x07 ميزان 温度", place="x" * 200)
    text = pdf_text(sheet(samples.replace(loop, service="<script>alert(1)</script>", remarks="{{ x }} <b>bold</b>")))
    assert "<script>alert(1)</script>" in text
    assert "{{ x }} <b>bold</b>" in text


def test_chinese_and_japanese_are_printed_with_a_small_font_of_their_own(pdf_text):
    service, place = "糖化罐热水温度 / ボイラー室の湯温", "炉前の制御盤"
    content = sheet(samples.replace(sketch.with_tag(sketch.temperature_loop(), "TE-101", place=place), service=service))
    with opened(content) as document:
        fonts = [str(font.BaseFont) for font in document.pages[0].Resources.Font.values()]
    if not any("Droid" in font for font in fonts):
        complain = pytest.fail if os.environ.get("REGISTER_REQUIRE_ALL") else pytest.skip
        complain("no font for Chinese was found (Debian: apt-get install fonts-droid-fallback)")
    assert service in words(pdf_text(content))
    assert place in words(pdf_text(content))
    assert faults(content) == []
    assert len(content) < 80_000


@settings(max_examples=5)
@given(st.data())
def test_any_loop_gets_a_sheet(data):
    assert sheet(data.draw(loops(most_tags=4))).startswith(b"%PDF-1.7")
