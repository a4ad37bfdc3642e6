"""Everything wrong is told in one pass, with its sheet, row, column, what stands there and the remedy."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from register.exchange.reading import WorkbookRefused, import_workbook
from register.models import Area, CatalogueModel, Loop, Revision
from tests.exchange.workbooks import changed, with_row, workbook

pytestmark = pytest.mark.django_db


@pytest.fixture
def problems(person):
    """Imports a workbook that must be refused, and gives its problems."""

    def problems(data: bytes) -> list[tuple]:
        with pytest.raises(WorkbookRefused) as refused:
            import_workbook(data, by=person("planner"), name="test.xlsx")
        assert not Loop.objects.exists()
        assert not CatalogueModel.objects.exists()
        return [(one.sheet, one.row, one.column, one.found, one.message) for one in refused.value.problems]

    return problems


CASES = {
    "text for a number": (
        changed("Loops", 2, Normal_value="ten"),
        ("Loops", 2, "Normal value", "ten", "A number is needed here, such as 10.5, without its unit."),
    ),
    "a number with its unit": (
        changed("Alarms", 2, Set_point="11 bar"),
        ("Alarms", 2, "Set point", "11 bar", "A number is needed here, such as 10.5, without its unit."),
    ),
    "a comma that can be read in two ways": (
        changed("Alarms", 2, Set_point="1,250"),
        (
            "Alarms",
            2,
            "Set point",
            "1,250",
            "The comma can part thousands or decimals. Write it without a comma.",
        ),
    ),
    "a number that would fill the memory": (
        changed("Loops", 2, Normal_value=1e300),
        (
            "Loops",
            2,
            "Normal value",
            "1e+300",
            "“1E+300” is beyond anything that is measured.",
        ),
    ),
    "a fraction for a whole number": (
        changed("Settings", 2, Decimals_shown=1.5),
        ("Settings", 2, "Decimals shown", "1.5", "A whole number is needed here."),
    ),
    "a negative count": (
        changed("Stock", 2, Quantity=-1),
        ("Stock", 2, "Quantity", "-1", "Ensure this value is greater than or equal to 0."),
    ),
    "a date for a name": (
        changed("Bays", 2, Bay=date(2026, 1, 2)),
        (
            "Bays",
            2,
            "Bay",
            "2026-01-02",
            "It was taken for a date, a time or yes/no. Format the cell as text and type it again.",
        ),
    ),
    "a number for a date": (
        changed("Calibrations", 2, On=45418),
        (
            "Calibrations",
            2,
            "On",
            "45418",
            "A date is needed here: format the cell as a date, or write it as 2026-03-31.",
        ),
    ),
    "a word that is not on the list": (
        changed("Loops", 2, Criticality="vital"),
        ("Loops", 2, "Criticality", "vital", "It must be one of: safety, environment, production, routine."),
    ),
    "one unknown purpose among several": (
        changed("Model ports", 2, Purposes="measurement, magic"),
        (
            "Model ports",
            2,
            "Purposes",
            "measurement, magic",
            "It must be one of: measurement, remote set point, control, cooling control, alarm, retransmission, "
            "transmitter supply, digital input, serial, position feedback.",
        ),
    ),
    "an unknown unit": (
        changed("Ports", 2, Unit="furlong"),
        (
            "Ports",
            2,
            "Unit",
            "furlong",
            "“furlong” is not a unit that the register knows. Write it in full or choose one. "
            "The sheet Words lists them.",
        ),
    ),
    "an unknown signal": (
        changed("Ports", 2, Signal="smoke"),
        (
            "Ports",
            2,
            "Signal",
            "smoke",
            "“smoke” is not a signal that the register knows. Choose one. The sheet Words lists them.",
        ),
    ),
    "a name that is too long": (
        changed("Cables", 2, Cable="C" * 61),
        (
            "Cables",
            2,
            "Cable",
            "C" * 59 + "…",
            "Ensure this value has at most 60 characters (it has 61).",
        ),
    ),
    "nothing where something must be": (
        changed("Tags", 2, Role=None),
        ("Tags", 2, "Role", "", "It must be filled in."),
    ),
    "an unknown model": (
        changed("Tags", 3, Specified_model="Regent 97"),
        (
            "Tags",
            3,
            "Specified model",
            "Regent 97",
            "There is no catalogue model “Fennel Row Regent 97”, neither in this workbook nor in the register. "
            "Add it, or correct the name here.",
        ),
    ),
    "a maker without a model": (
        changed("Tags", 3, Specified_model=None),
        (
            "Tags",
            3,
            "Specified model",
            "",
            "There is no catalogue model “Fennel Row”, neither in this workbook nor in the register. "
            "Add it, or correct the name here.",
        ),
    ),
    "an alarm that drives a port of another tag": (
        changed("Alarms", 2, Drives_port="Output"),
        (
            "Alarms",
            2,
            "Drives port",
            "Output",
            "There is no port “PIC-101 Output”, neither in this workbook nor in the register. "
            "Add it, or correct the name here.",
        ),
    ),
    "a bay that takes an unknown family": (
        changed("Bays", 2, Takes="relay, steam"),
        (
            "Bays",
            2,
            "Takes",
            "relay, steam",
            "There is no board family “steam”, neither in this workbook nor in the register. "
            "Add it, or correct the name here.",
        ),
    ),
    "a tag that stands there twice": (
        with_row("Tags", Tag="PT-101", Loop="P-101", Role="indicator"),
        (
            "Tags",
            4,
            "Tag",
            "PT-101",
            "PT-101 stands in row 2 already. Each is named once: correct or remove one of them.",
        ),
    ),
    "an input that is fed twice": (
        with_row("Links", From_tag="PT-101", From_port="Output", To_tag="PIC-101", To_port="Input"),
        (
            "Links",
            3,
            "To port",
            "Input",
            "PIC-101 Input stands in row 2 already. Each is named once: correct or remove one of them.",
        ),
    ),
    "a range that runs backwards": (
        changed("Ports", 2, Range_from="16", Range_to="0"),
        (
            "Ports",
            2,
            "Range to",
            "0",
            "A range runs from its low end to its high end, and 16 is not below 0. Correct one of them; "
            "a signal that falls as the value rises is marked as reversed instead.",
        ),
    ),
    "a range with one end": (
        changed("Ports", 2, Range_to=None),
        ("Ports", 2, "Range to", "", "A range has two ends: fill in the other one too."),
    ),
    "a range without a unit": (
        changed("Ports", 2, Unit=None),
        ("Ports", 2, "Unit", "", "The range has no unit. Fill it in."),
    ),
    "a link from an input": (
        changed("Links", 2, From_tag="PIC-101", From_port="Input", To_tag="PIC-101", To_port="Input"),
        (
            "Links",
            2,
            "From port",
            "Input",
            "PIC-101 Input is an input; a link runs from an output to an input. "
            "Turn the link round, or correct the port's direction.",
        ),
    ),
    "an asset in two places": (
        with_row("Installations", Asset="A1", Tag="PT-101", From="2024-03-05"),
        (
            "Installations",
            3,
            "Asset",
            "A1",
            "A1: the asset is already at another tag and was not taken out. Fill in when it came out.",
        ),
    ),
    "a serial number twice": (
        with_row("Assets", Asset="A2", Maker="Fennel Row", Model="Regent 96", Serial_number="0017", State="in store"),
        (
            "Assets",
            3,
            "Serial number",
            "0017",
            "Fennel Row Regent 96 0017: another asset of this model has this serial number. Correct one of them.",
        ),
    ),
    "out before in": (
        changed("Installations", 2, To="2023-01-01"),
        (
            "Installations",
            2,
            "To",
            "2023-01-01",
            "It came out on 2023-01-01, before it went in on 2024-03-04. Correct one.",
        ),
    ),
    "an area within itself": (
        changed("Areas", 2, Lies_within="BH"),
        (
            "Areas",
            2,
            "Lies within",
            "BH",
            "This area lies within itself, by way of the areas above it. Correct the area above.",
        ),
    ),
    "two areas of one name side by side": (
        with_row("Areas", Code="BH2", Name="Boiler house", Lies_within="W"),
        (
            "Areas",
            4,
            "Name",
            "Boiler house",
            "W Boiler house: another area there has this name. Correct one of them.",
        ),
    ),
    "a board without a family": (
        changed("Models", 3, Board_family=None),
        ("Models", 3, "Board family", "", "An option board needs a board family. Fill it in."),
    ),
    "a controller with a family": (
        changed("Models", 2, Board_family="relay"),
        (
            "Models",
            2,
            "Board family",
            "relay",
            "A controller has no board family. Clear it, or make the kind “option board”.",
        ),
    ),
    "a second row about the plant": (
        with_row("Plant", Name="Another works"),
        (
            "Plant",
            3,
            "",
            "",
            "The one row of this sheet stands in row 2 already. Each is named once: correct or remove one of them.",
        ),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_what_is_wrong_is_told_with_its_place_and_remedy_and_nothing_is_imported(case, problems):
    rows, expected = CASES[case]
    assert expected in problems(workbook(rows))


def test_a_right_workbook_is_imported(person):
    report = import_workbook(workbook(), by=person("planner"), name="right.xlsx")
    assert report.counts["Tags"].added == 2
    assert Loop.objects.get().number == "P-101"
    assert Revision.objects.get().reason == "Imported right.xlsx"


def test_every_problem_is_told_in_one_pass_in_the_order_of_the_sheets(problems):
    rows = changed("Tags", 3, Specified_model="Regent 97")
    rows["Areas"][1]["Lies within"] = "nowhere"
    rows["Tags"].append({"Tag": "PT-101", "Loop": "P-999", "Role": "gauge"})
    rows["Calibrations"][0]["Result"] = "good"
    places = [(sheet, row, column) for sheet, row, column, _, _ in problems(workbook(rows))]
    assert places == [
        ("Areas", 3, "Lies within"),
        ("Tags", 3, "Specified model"),
        ("Tags", 4, "Role"),
        ("Tags", 4, "Tag"),
        ("Tags", 4, "Loop"),
        ("Calibrations", 2, "Result"),
    ]


def test_a_missing_sheet_is_one_problem_and_not_one_for_each_row_that_refers_to_it(problems):
    assert problems(workbook(without_sheet="Tags")) == [
        (
            "Tags",
            None,
            "",
            "",
            "The sheet is missing. Add it with its headings, as in the blank workbook; it may have no rows.",
        )
    ]


@pytest.mark.parametrize("column", [("Tags", "Description"), ("Tags", "Tag")])
def test_a_missing_column_is_one_problem(column, problems):
    assert problems(workbook(without_column=column)) == [
        (
            "Tags",
            1,
            column[1],
            "",
            "The column is missing. Add it, as in the blank workbook; its cells may be empty.",
        )
    ]


def test_words_are_read_whatever_their_case_and_blanks(person):
    rows = changed("Model ports", 2, Purposes=" Measurement ,  REMOTE  set point ")
    import_workbook(workbook(rows), by=person("planner"), name="test.xlsx")
    assert CatalogueModel.objects.get(name="Regent 96").ports.get().purposes == "measurement, remote set point"


def test_numbers_and_dates_that_a_spreadsheet_program_typed_itself_are_read(person):
    rows = changed("Loops", 2, Normal_value=0.1)
    rows["Bays"][0]["Bay"] = rows["Boards fitted"][0]["Bay"] = rows["Ports"][2]["Bay"] = 1
    rows["Calibrations"][0]["On"] = datetime(2024, 5, 6)  # noqa: DTZ001 - a spreadsheet knows no zone
    import_workbook(workbook(rows), by=person("planner"), name="test.xlsx")
    loop = Loop.objects.get()
    assert str(loop.normal_value) == "0.1"
    assert loop.tags.get(name="PIC-101").ports.get(name="Relay").bay == "1"
    assert loop.tags.get(name="PT-101").calibrations.get().on == date(2024, 5, 6)


def test_sheets_and_columns_of_ones_own_are_left_unread_and_said_so(person):
    from io import BytesIO

    from openpyxl import load_workbook

    from tests.exchange.workbooks import saved

    book = load_workbook(BytesIO(workbook()))
    book.create_sheet("Notes").append(["=1+1"])
    book["Areas"].cell(1, 20, "My remarks")
    report = import_workbook(saved(book), by=person("planner"), name="test.xlsx")
    assert report.not_read == ["sheet Notes", "column My remarks of sheet Areas"]
    assert Area.objects.count() == 2
