"""Files that are no workbooks, or are made to hurt, are refused in a sentence before they cost anything."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from io import BytesIO

import pytest
from openpyxl import Workbook, load_workbook

from register.exchange import guarding
from register.exchange.guarding import NotAWorkbook, open_workbook
from register.exchange.reading import WorkbookRefused, import_workbook
from register.exchange.sheets import SHEETS
from tests.exchange.workbooks import RIGHT, saved, workbook

SHEET_NAMES = [sheet.name for sheet in SHEETS]
PNG = b"\x89PNG\r\n\x1a\n" + bytes(200)
OLD_XLS = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600)
NOT_XLSX = "not an .xlsx workbook, whatever its name says, or it is damaged"


def repacked(data: bytes, change) -> bytes:
    """The archive with each part passed through ``change(name, content)``."""
    target = BytesIO()
    with zipfile.ZipFile(BytesIO(data)) as source, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in source.namelist():
            archive.writestr(name, change(name, source.read(name)))
    return target.getvalue()


def with_cell(place: str, value: object) -> bytes:
    book = Workbook()
    book.active[place] = value
    return saved(book)


def at_the_far_corner(write: Callable[[bytes], bytes]) -> bytes:
    """A workbook whose one far cell is hidden from a careless look."""
    return repacked(with_cell("XFD1048576", "x"), lambda name, content: write(content) if "sheet1" in name else content)


def elsewhere(data: bytes) -> bytes:
    """The workbook with its first sheet moved to where no spreadsheet program would put it."""
    moved = BytesIO()
    with zipfile.ZipFile(BytesIO(data)) as source, zipfile.ZipFile(moved, "w") as archive:
        for name in source.namelist():
            content = source.read(name).replace(b"worksheets/sheet1.xml", b"odd/sheet1.dat")
            archive.writestr(name.replace("worksheets/sheet1.xml", "odd/sheet1.dat"), content)
    return moved.getvalue()


def with_part(data: bytes, name: str) -> bytes:
    added = BytesIO(data)
    with zipfile.ZipFile(added, "a") as archive:
        archive.writestr(name, "<a/>")
    return added.getvalue()


REFUSED = {
    "an empty file": (b"", "The file is empty. Choose the workbook again."),
    "a picture renamed to .xlsx": (PNG, NOT_XLSX),
    "text renamed to .xlsx": (b"Tag;Loop\nPT-101;P-101\n", NOT_XLSX),
    "another zip archive": (
        repacked(workbook(), lambda name, content: content)[:0] + b"PK\x05\x06" + bytes(18),
        NOT_XLSX,
    ),
    "a workbook cut short": (workbook()[:5000], NOT_XLSX),
    "an old or locked workbook": (OLD_XLS, "Save it as .xlsx without a password."),
    "a cell in the far corner": (
        with_cell("XFD1048576", "x"),
        "reaches to row 1,048,576 and column 16,384, which is more than can be read",
    ),
    "a far cell in small letters": (
        at_the_far_corner(lambda content: content.replace(b"XFD1048576", b"xfd1048576")),
        "reaches to row 1,048,576 and column 16,384",
    ),
    "a far row whose cell names no place": (
        at_the_far_corner(
            lambda content: content.replace(b'r="XFD1048576"', b"").replace(b"</row>", b'<c r="ZZ1"/></row>')
        ),
        "reaches to row 1,048,576 and column 702",
    ),
    "a place that is no cell": (at_the_far_corner(lambda content: content.replace(b"XFD", b"$XFD$")), NOT_XLSX),
    "a far cell in a part of another name": (elsewhere(with_cell("XFD1048576", "x")), "reaches to row 1,048,576"),
    "a sheet that is no XML": (
        elsewhere(at_the_far_corner(lambda content: content.replace(b"<sheetData>", b"<sheetData a='1' a='1'>"))),
        NOT_XLSX,
    ),
    "a workbook that may be read as another format": (with_part(workbook(), "content.xml"), NOT_XLSX),
    "a part that is there twice": (with_part(workbook(), "XL/worksheets/sheet1.xml"), NOT_XLSX),
    "an error value": (
        repacked(
            workbook(),
            lambda name, content: content.replace(
                b"</sheetData>", b'<row r="9"><c r="B9" t="e"><v>#REF!</v></c></row></sheetData>'
            ),
        ),
        "The cell B9 of the sheet Plant shows an error such as #REF!",
    ),
    "entities that multiply": (
        repacked(
            workbook(),
            lambda name, content: b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">]>' + content if "sheet1" in name else content,
        ),
        "The workbook holds a document type",
    ),
    "broken XML": (
        repacked(workbook(), lambda name, content: content[:-30] if "sheet1" in name else content),
        NOT_XLSX,
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_it_is_refused_with_a_remedy(case):
    data, message = REFUSED[case]
    with pytest.raises(NotAWorkbook, match=message.replace("(", r"\(").replace("?", r"\?")):
        open_workbook(data, SHEET_NAMES)


def test_an_archive_that_would_unpack_to_too_much_is_refused_by_what_it_declares(monkeypatch):
    monkeypatch.setattr(guarding, "GREATEST_UNPACKED", 20 * 1024 * 1024)
    bomb = repacked(
        workbook(), lambda name, content: content + bytes(21 * 1024 * 1024) if "sheet1." in name else content
    )
    assert len(bomb) < 200 * 1024
    with pytest.raises(NotAWorkbook, match="would take more than 20 MB"):
        open_workbook(bomb, SHEET_NAMES)


def test_an_archive_that_declares_less_than_it_holds_is_damaged():
    data = bytearray(workbook())
    for signature, offset in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        place = data.find(signature)
        while place >= 0:
            data[place + offset : place + offset + 4] = (10).to_bytes(4, "little")
            place = data.find(signature, place + 4)
    with pytest.raises(NotAWorkbook, match="damaged"):
        open_workbook(bytes(data), SHEET_NAMES)


def test_a_file_that_is_too_large_is_refused(monkeypatch):
    monkeypatch.setattr(guarding, "GREATEST_FILE", 1024 * 1024)
    with pytest.raises(NotAWorkbook, match="The file is larger than 1 MB, the most that is taken"):
        open_workbook(bytes(2 * 1024 * 1024), SHEET_NAMES)


def test_an_error_in_a_sheet_of_ones_own_is_no_matter():
    book = load_workbook(BytesIO(workbook()))
    book.create_sheet("Notes")["A1"] = "#REF!"
    book["Notes"]["A1"].data_type = "e"
    assert "Notes" in open_workbook(saved(book), SHEET_NAMES).sheet_names


def test_a_picture_in_the_workbook_is_no_matter():
    data = BytesIO(workbook())
    with zipfile.ZipFile(data, "a") as archive:
        archive.writestr("xl/media/image1.png", PNG)
    assert "Tags" in open_workbook(data.getvalue(), SHEET_NAMES).sheet_names


def test_a_refused_file_is_one_problem_of_the_whole_workbook(person):
    with pytest.raises(WorkbookRefused) as refused:
        import_workbook(PNG, by=person("planner"), name="plant.xlsx")
    (problem,) = refused.value.problems
    assert (problem.sheet, problem.row, problem.column) == ("", None, "")
    assert str(problem).startswith("The file is not an .xlsx workbook")


@pytest.mark.django_db
def test_text_that_begins_like_a_formula_stays_text_both_ways(person):
    """An exported cell that began with one of = + - @ and were a formula would run in the reader's spreadsheet."""
    from register.exchange.writing import write_workbook
    from register.models import Loop

    dangers = ["=HYPERLINK(1)", "+1+1", "-1+1", "@SUM(1)"]
    rows = {name: [dict(row) for row in of_sheet] for name, of_sheet in RIGHT.items()}
    base = rows["Loops"][0]
    rows["Loops"] += [base | {"Loop": f"P-20{n}", "Remarks": text} for n, text in enumerate(dangers[1:])]
    import_workbook(workbook(rows), by=person("planner"), name="test.xlsx")
    Loop.objects.filter(number="P-101").update(remarks=dangers[0])
    exported = BytesIO()
    write_workbook(exported)
    page = load_workbook(exported)["Loops"]
    remarks = [cell for row in page.iter_rows(min_row=2) for cell in row if cell.value in dangers]
    assert sorted(cell.value for cell in remarks) == sorted(dangers)
    with zipfile.ZipFile(exported) as archive:
        assert not any(b"<f>" in archive.read(name) for name in archive.namelist() if "worksheets/sheet" in name)
