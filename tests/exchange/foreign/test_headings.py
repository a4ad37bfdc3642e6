"""The headings of an index are found below titles, in one row or in two, and each column is guessed with its reason."""

from __future__ import annotations

import pytest
from openpyxl import Workbook

from register.calc.tag_patterns import CONVENTIONS, USUAL
from register.exchange.foreign.files import open_index
from register.exchange.foreign.guessing import guess_columns, guess_patterns
from register.exchange.foreign.headings import find_headings, headings_at
from tests.exchange.foreign import indexes
from tests.exchange.workbooks import saved


@pytest.mark.parametrize(
    ("data", "sheet", "row", "rows", "first"),
    [
        (indexes.hai, "", 1, 1, "tag"),
        (indexes.tennessee, "Points", 3, 1, "Loop"),
        (indexes.number_first, "Loops", 1, 2, "Instrument"),
        (indexes.mess, "", 4, 2, "Tag"),
    ],
)
def test_the_row_of_the_headings_is_found_below_titles_and_blanks(data, sheet, row, rows, first):
    found = find_headings(open_index(data()).lines(sheet))
    assert (found.row, found.rows, found.texts[0]) == (row, rows, first)


def test_headings_of_two_rows_are_joined():
    assert find_headings(open_index(indexes.mess()).lines()).texts[3:8] == (
        "Messbereich von", "Messbereich bis (°C)", "Signal", "Alarme H", "Alarme HH",
    )  # fmt: skip


def test_a_merged_cell_stands_over_its_own_columns_and_no_others():
    book = Workbook()
    sheet = book.active
    sheet.append([None, None, "Process", None, None])
    sheet.append(["Tag", "Service", "Range", "Unit", "Remarks"])
    sheet.append(["TIC-101", "Kiln", "0-250", "degC", "x"])
    sheet.merge_cells("C1:D1")
    file = open_index(saved(book))
    found = find_headings(file.lines("Sheet"), file.merged("Sheet"))
    assert (found.row, found.rows) == (1, 2)
    assert found.texts == ("Tag", "Service", "Process Range", "Process Unit", "Remarks")


def test_other_rows_can_be_chosen():
    lines = list(open_index(indexes.mess()).lines())
    assert headings_at(lines, 7, 1).texts[:2] == ("TIC-701", "Darre 1")


def guessed(headings: list[str], *columns: list[str]) -> list[str]:
    return [guess.key for guess in guess_columns(headings, columns, USUAL)]


def test_columns_are_guessed_from_their_headings():
    assert guessed(
        ["Tag No.", "Service", "LRV", "URV", "Eng. Unit", "H", "LL", "P&ID"],
        ["TIC-1"], ["x"], ["0"], ["10"], ["bar"], ["9"], ["1"], ["101-2"],
    ) == ["tag", "service", "low", "high", "unit", "alarm:high", "alarm:low-low", ""]  # fmt: skip


def test_columns_without_a_telling_heading_are_guessed_from_what_stands_in_them():
    assert guessed(
        ["A", "B", "C", "D", "E"],
        ["TIC-101", "PT 102A"], ["0-250 degC", "0…16 bar"], ["4/20mA", "Pt 100 3w"], ["1/4 DIN", "96x96"], ["a", "b"],
    ) == ["tag", "range", "signal", "cutout", ""]  # fmt: skip


def test_what_stands_in_a_column_outweighs_a_heading_that_could_be_another():
    """“Sensor type” holds signals here and could hold roles."""
    assert guessed(["Tag", "Instrument type (input)"], ["TE-1"], ["Pt 100", "K t/c"]) == ["tag", "signal"]


def test_one_thing_is_found_in_one_column():
    guesses = guess_columns(["Tag", "Instrument"], [["TIC-101", "PT-1"], ["Kiln", "Boiler"]], USUAL)
    assert [guess.key for guess in guesses] == ["tag", ""]
    assert "another column fits better" in guesses[1].why


def test_a_guess_says_how_many_texts_bear_it_out():
    (guess,) = guess_columns(["Unit"], [["bar", "degC", "Boolean"]], USUAL)
    assert guess.why == "its heading; 2 of 3 texts can be read so"


def test_the_convention_is_chosen_that_keeps_most_tags_as_they_stand():
    assert guess_patterns(["P1_FT01", "P1_LCV01D", "P2_SIT01"], USUAL).splitlines()[0] == CONVENTIONS[2].pattern
    assert guess_patterns(["TIC-101", "PT-102"], USUAL) == USUAL
    forms = [f"XMEAS({number})" for number in range(9)]
    assert guess_patterns(forms, USUAL).splitlines()[0] == "{letters}({number})"
    assert guess_patterns(["Kiln north", "Kiln south", "x"], USUAL) == USUAL
