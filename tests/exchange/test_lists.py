"""Lists as files, read back by programs that are not ours: openpyxl, python-calamine, the csv and json modules."""

from __future__ import annotations

import csv
import io
import json
import tracemalloc
from datetime import UTC, date, datetime
from decimal import Decimal
from zipfile import ZipFile

import openpyxl
import pytest

from register.exchange.lists import Listing, write_csv, write_json, write_xlsx

HEADINGS = ("Tag", "Low", "Count", "On", "At", "Made")
ROW = ("TT-101", Decimal("4.50"), 3, date(2026, 3, 4), datetime(2026, 3, 4, 9, 30, tzinfo=UTC), True)


def listing(*rows, notes=None) -> Listing:
    return Listing("Tags of T/1 [old]", tuple(one.lower() for one in HEADINGS), HEADINGS, rows, notes or {})


def written(write, *rows, **facts) -> bytes:
    target = io.BytesIO()
    write(target, listing(*rows, **facts))
    return target.getvalue()


def text_row(text: str) -> tuple:
    return (text, None, None, None, None, None)


def test_a_workbook_holds_numbers_with_their_digits_and_days_as_days():
    sheet = openpyxl.load_workbook(io.BytesIO(written(write_xlsx, ROW, notes={"Taken on": "2026-03-05"}))).active
    tag, low, count, on, at, made = sheet[4]
    assert sheet.title == "Tags of T-1 -old-"
    assert sheet["A1"].value == "Taken on: 2026-03-05"
    assert [cell.value for cell in sheet[3]] == list(HEADINGS)
    assert (tag.value, low.value, low.number_format, count.value) == ("TT-101", 4.5, "0.00", 3)
    assert (f"{on.value}", f"{at.value}") == ("2026-03-04 00:00:00", "2026-03-04 09:30:00")
    assert made.value == "yes"


@pytest.mark.parametrize("text", ["=1+1", "+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("x")', "＝1+1"])
def test_text_is_never_a_live_formula(text):
    """The openings of a formula: OWASP, CSV Injection."""
    archive = ZipFile(io.BytesIO(written(write_xlsx, text_row(text))))
    assert "<f>" not in archive.read("xl/worksheets/sheet1.xml").decode()
    (_, row) = csv.reader(io.StringIO(written(write_csv, text_row(text)).decode("utf-8-sig"), newline=""))
    assert row[0] == f"'{text}"


def test_csv_opens_in_a_spreadsheet_program_and_keeps_every_digit():
    data = written(write_csv, ROW, ('Kiln, "2"', Decimal("-1E+2"), -7, None, None, False))
    assert data.startswith(b"\xef\xbb\xbf")
    heading, first, second = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""))
    assert heading == list(HEADINGS)
    assert first == ["TT-101", "4.50", "3", "2026-03-04", "2026-03-04 09:30:00+00:00", "yes"]
    assert second == ['Kiln, "2"', "-100", "-7", "", "", "no"]


def test_json_has_a_row_a_line_by_field_with_decimals_as_typed():
    data = written(write_json, ROW, text_row("=1+1"), notes={"Narrowed by": "Area: Kiln"})
    read = json.loads(data, parse_float=Decimal)
    assert str(read["rows"][0]["low"]) == "4.50"
    assert read["rows"][0]["on"] == "2026-03-04"
    assert read["rows"][0]["made"] is True
    assert read["rows"][1] == dict.fromkeys(("low", "count", "on", "at", "made")) | {"tag": "=1+1"}
    assert read["notes"] == {"Narrowed by": "Area: Kiln"}
    assert json.loads(written(write_json))["rows"] == []


def test_what_a_spreadsheet_cannot_count_goes_in_as_text():
    """A spreadsheet keeps 15 digits and no day before 1900."""
    row = (None, Decimal("0.1234567890123456789"), 10**16, date(1899, 5, 1), None, None)
    sheet = openpyxl.load_workbook(io.BytesIO(written(write_xlsx, row))).active
    assert [cell.value for cell in sheet[2]][1:4] == ["0.1234567890123456789", "10000000000000000", "1899-05-01"]


@pytest.mark.parametrize("write", [write_xlsx, write_csv, write_json])
def test_a_long_list_takes_no_more_memory_than_a_short_one(write, tmp_path):
    def peak(rows: int) -> int:
        one = Listing("Tags", HEADINGS, HEADINGS, (ROW for _ in range(rows)), {})
        tracemalloc.start()
        with (tmp_path / f"{rows}").open("wb") as target:
            write(target, one)
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return most

    peak(10)
    assert peak(4000) < 1.2 * peak(1000) + 200_000
