"""A file of any usual kind is opened, however it is written; one that is made to hurt is refused in a sentence."""

from __future__ import annotations

import pytest
from openpyxl import Workbook

from register.exchange.foreign.files import CannotOpen, open_index
from tests.exchange.foreign.indexes import ods, ods_of
from tests.exchange.workbooks import saved

ENGLISH = "Tag;Service;Range\nTIC-101;Kiln temperature;0-250 °C\nPT-102;Pressure;0-16 bar\n"
GERMAN = "Meßstelle;Beschreibung;Meßbereich\nTIC-101;Rücklauf größer Kessel;0-250 °C\n"
FRENCH = "Repère;Désignation;Étendue\nTIC-101;Température four n° 1 côté arrière;0 à 250 °C\n"
POLISH = "Znacznik;Opis;Zakres\nTIC-101;Temperatura pieca środek, łączna żółć;0-250 °C\n"
RUSSIAN = "Тег;Описание;Диапазон\nTIC-101;Температура печи сушки солода;0-250 °C\n"


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        (ENGLISH, "utf-8"), (ENGLISH, "utf-8-sig"), (ENGLISH, "utf-16"), (ENGLISH, "utf-16-le"), (ENGLISH, "cp1252"),
        (ENGLISH, "mac_roman"), (ENGLISH, "cp850"), (GERMAN, "cp1252"), (GERMAN, "cp850"), (FRENCH, "cp1252"),
        (FRENCH, "mac_roman"), (POLISH, "cp1250"), (RUSSIAN, "cp1251"), (RUSSIAN, "koi8_r"),
    ],
)  # fmt: skip
def test_a_text_is_read_in_the_encoding_in_which_it_was_written(text, encoding):
    file = open_index(text.encode(encoding))
    assert [cells for _, cells in file.lines()] == [line.split(";") for line in text.splitlines()]


@pytest.mark.parametrize("separator", [";", ",", "\t", "|"])
def test_the_separator_is_the_one_that_gives_rows_of_one_width(separator):
    """Decimal commas, and a comma within quotation marks, are no separators."""
    rows = [["Tag", "Service", "Range"], ["TIC-101", "Kiln; upper, south", "0-2.5 bar"], ["PT-1", "a|b", "0-1 bar"]]
    text = "\n".join(separator.join(f'"{cell}"' if separator in cell else cell for cell in row) for row in rows)
    assert [cells for _, cells in open_index(text.encode()).lines()] == rows


def test_rows_of_a_workbook_keep_the_numbers_and_columns_that_a_spreadsheet_program_shows():
    book = Workbook()
    book.active["C4"], book.active["C6"] = "Tag", "TIC-101"
    lines = dict(open_index(saved(book)).lines("Sheet"))
    assert (lines[4], lines[6]) == (["", "", "Tag"], ["", "", "TIC-101"])


def test_an_open_document_spreadsheet_is_read_with_its_numbers():
    file = open_index(ods({"Index": [["Tag", "Low"], ["TIC-101", 1.5]]}))
    assert file.sheet_names == ["Index"]
    assert [cells for _, cells in file.lines("Index")] == [["Tag", "Low"], ["TIC-101", 1.5]]


def repeated(times: int, cells: str) -> str:
    return f'<table:table-row table:number-rows-repeated="{times}">{cells}</table:table-row>'


def text_cell(text: str) -> str:
    return f'<table:table-cell office:value-type="string"><text:p>{text}</text:p></table:table-cell>'


def test_empty_rows_to_the_end_of_an_open_document_sheet_cost_nothing():
    rest = repeated(1_048_574, '<table:table-cell table:number-columns-repeated="16384"/>')
    assert len(list(open_index(ods({"Index": [["Tag"], ["TIC-101"]]}, rest)).lines("Index"))) == 2


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"  \r\n ", "empty"),
        (b"\x89PNG\r\n\x1a\n" + bytes(200), "no table"),
        (bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600), "old .xls kind"),
        (b"PK\x03\x04" + bytes(100), "not an .xlsx workbook"),
        (ods({"I": []}, repeated(1_000_000, text_cell("x") * 40)), "more than can be read"),
        (ods({"I": []}, repeated(900_000, text_cell("x" * 2000))), "would take more than"),
        (ods({"I": []}, repeated(-1, text_cell("x"))), "damaged"),
        (ods_of('<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>'), "document type"),
        (ods_of("<a><b></a>"), "damaged"),
    ],
    ids=["nothing", "blanks", "a picture", "old xls", "no archive", "many cells", "long cells", "less than none",
         "entities", "broken"],
)  # fmt: skip
def test_a_file_that_cannot_be_taken_is_refused_in_a_sentence(data, says):
    with pytest.raises(CannotOpen, match=says):
        open_index(data)


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_an_error_in_a_cell_is_told_with_its_place_and_not_read_as_nothing(kind):
    book = Workbook()
    book.active.title = "Index"
    book.active.append(["Tag", "Low"])
    book.active.append(["TIC-101", "#REF!"])
    book.active["B2"].data_type = "e"
    data = saved(book) if kind == "xlsx" else ods({"Index": [["Tag", "Low"], ["TIC-101", "#REF!"]]})
    with pytest.raises(CannotOpen, match=r"(cell B2|row 2) of the sheet Index shows an error"):
        open_index(data).check("Index")


def test_a_quotation_mark_that_is_never_closed_is_told_with_its_row():
    data = b'Tag;Service\nTIC-101;"Kiln\n' + b"PT-1;x\n" * 30_000
    with pytest.raises(CannotOpen, match=r"Row 2 .*quotation mark"):
        list(open_index(data).lines())
