"""What is exported comes back as it was: every cell, every digit, every loop."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc.signals import SIGNALS
from register.calc.units import REFERENCES, all_units
from register.exchange.cells import to_cell, to_facts
from register.exchange.demo import WORKBOOK
from register.exchange.reading import import_workbook, read_workbook
from register.exchange.sheets import SHEETS
from register.exchange.writing import write_blank_workbook, write_workbook
from register.loading import load_loops
from register.models import CatalogueRevision, Loop, Revision, StockMovement
from register.plant import codec
from register.services.importing import TABLES
from tests.exchange.workbooks import cells_of, workbook

BY_NAME = {sheet.name: sheet for sheet in SHEETS}


def exported() -> bytes:
    data = BytesIO()
    write_workbook(data)
    return data.getvalue()


def digests() -> dict[str, str]:
    return {loop.number: codec.digest(codec.encode(loop)) for loop in load_loops().values()}


def empty_the_register() -> None:
    Revision.objects.all().delete()
    CatalogueRevision.objects.all().delete()
    StockMovement.objects.all().delete()
    for loop in Loop.objects.all():
        loop.findings.all().delete()
    for table in reversed(TABLES):
        if any(field.name == "parent" for field in table._meta.fields):
            table.objects.update(parent=None)
        if any(field.name == "successor" for field in table._meta.fields):
            table.objects.update(successor=None)
        table.objects.all().delete()


@pytest.mark.django_db
def test_the_demo_plant_exports_as_it_was_imported_and_comes_back_to_the_same_loops(person):
    import_workbook(WORKBOOK.read_bytes(), by=person("planner"), name="first")
    once, loops = exported(), digests()
    assert once == WORKBOOK.read_bytes(), "export_register writes the demo's own workbook"
    empty_the_register()
    import_workbook(once, by=person("planner"), name="second")
    assert exported() == once
    assert digests() == loops
    assert len(loops) >= 60


@pytest.mark.django_db
def test_importing_the_same_workbook_again_changes_nothing(person):
    import_workbook(WORKBOOK.read_bytes(), by=person("planner"), name="first")
    revisions = Revision.objects.count()
    again = import_workbook(WORKBOOK.read_bytes(), by=person("planner"), name="second")
    assert again.changed_nothing
    assert again.counts["Loops"].unchanged == Loop.objects.count()
    assert Revision.objects.count() == revisions
    assert set(CatalogueRevision.objects.values_list("number", flat=True)) == {1}, "the catalogue was noted once"


@pytest.mark.django_db
@pytest.mark.parametrize("typed", ["10.50", "10.5", "0.00", "-0.10", "0.0000015", "1234567890.1234567890"])
def test_a_number_keeps_the_digits_it_was_typed_with(typed, person):
    rows = {name: [dict(row) for row in of_sheet] for name, of_sheet in _right().items()}
    rows["Loops"][0]["Normal value"] = typed
    import_workbook(workbook(rows), by=person("planner"), name="test.xlsx")
    headings, row = cells_of(exported(), "Loops")
    assert row[headings.index("Normal value")] == typed
    assert str(Loop.objects.get().normal_value) in (typed, str(Decimal(typed)))


def _right() -> dict:
    from tests.exchange.workbooks import RIGHT

    return RIGHT


@pytest.mark.parametrize("unit", all_units().values(), ids=lambda unit: unit.code)
def test_every_unit_is_written_so_that_it_is_read_back(unit):
    sheet = BY_NAME["Ports"]
    column = sheet.by_path["range_unit"]
    for reference in ("", *(key for key, of in REFERENCES.items() if of == unit.dimension)):
        facts = {"range_unit": unit.code, "range_reference": reference}
        assert to_facts(column, sheet, to_cell(column, sheet, facts)) == facts


@pytest.mark.parametrize("key", SIGNALS)
def test_every_signal_is_written_so_that_it_is_read_back(key):
    sheet = BY_NAME["Ports"]
    column = sheet.by_path["signal"]
    assert to_facts(column, sheet, to_cell(column, sheet, {"signal": key})) == {"signal": key}


@given(st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**20), max_value=10**20, places=9))
def test_every_decimal_is_written_so_that_it_is_read_back_digit_by_digit(number):
    sheet = BY_NAME["Loops"]
    column = sheet.by_path["normal_value"]
    cell = to_cell(column, sheet, {"normal_value": number})
    assert format(to_facts(column, sheet, cell)["normal_value"], "f") == cell


@pytest.mark.django_db
def test_the_blank_workbook_has_every_heading_and_can_be_imported_as_it_is():
    data = BytesIO()
    write_blank_workbook(data)
    reading = read_workbook(data.getvalue())
    assert reading.problems == []
    assert all(len(sheet.rows) == 0 for sheet in reading.sheets.values())
    assert cells_of(data.getvalue(), "Stock") == [["Maker", "Model", "Store place", "Quantity", "At least"]]


@pytest.mark.django_db
def test_the_blank_workbook_offers_the_words_of_a_column():
    from openpyxl import load_workbook

    data = BytesIO()
    write_blank_workbook(data)
    book = load_workbook(data)
    tags = book["Tags"]
    assert [cell.value for cell in tags[1]][2] == "Role"
    (roles,) = [one for one in tags.data_validations.dataValidation if str(one.sqref).startswith("C2:")]
    place = roles.formula1.removeprefix("Words!")
    assert [cell[0].value for cell in book["Words"][place.replace("$", "")]] == [
        "sensor",
        "transmitter",
        "signal conditioner",
        "controller",
        "set-point source",
        "final element",
        "indicator",
        "recorder",
        "alarm unit",
        "power supply",
    ]
    assert tags["A1"].comment.text == "By ISA-5.1, such as TIC-101. It must be filled in."


@pytest.mark.django_db
def test_an_export_asks_one_query_a_sheet_whatever_the_size_of_the_plant(person, django_assert_num_queries):
    import_workbook(WORKBOOK.read_bytes(), by=person("planner"), name="demo")
    with django_assert_num_queries(len(SHEETS) + 1):  # what a bay takes stands in a table of its own
        exported()


def test_headings_and_paths_are_unique_in_their_sheet():
    for sheet in SHEETS:
        assert len(sheet.by_heading) == len(sheet.by_path) == len(sheet.columns), sheet.name
        assert set(TABLES[sheet.table].key) <= set(sheet.by_path), sheet.name
