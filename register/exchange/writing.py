"""The register as a workbook, and the blank one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime
from itertools import zip_longest
from typing import Any, BinaryIO

import xlsxwriter
from django.db.models import CharField, DateField, TextField
from xlsxwriter.utility import xl_range, xl_range_abs

from register.calc.signals import SIGNALS
from register.calc.units import all_units
from register.exchange.cells import allowed_words, is_signal, is_unit, paths_of, to_cell
from register.exchange.sheets import READ_ME, SHEETS, WORDS, Column, Sheet
from register.services.importing import TABLES

INTRODUCTION = (
    "This workbook holds the instrument register: one sheet for each kind of thing, one row for each thing.",
    "Import it in the register under Import and export. Everything is checked first. If anything is wrong, it is "
    "all listed and nothing is imported.",
    "Rows are known by the columns with a dark heading. A row that the register has is brought up to date, a new one "
    "is added, and what stands in the register but not here is left alone.",
    "An empty cell means that the fact is not recorded. Nothing is guessed: the rules say which fact is missing.",
    "Numbers are kept as they are typed, so 10.50 stays 10.50. Dates are written as 2026-03-31.",
    "All sheets and all columns must be there. Sheets and columns of your own are not read.",
)

HEADING = {"bold": True, "text_wrap": True, "valign": "top"}
LAST_ROW = 1_048_575

# No clock in the file: the same register gives the same bytes, so two exports can be compared.
PROPERTIES = {"title": "Instrument loop register", "created": datetime(2000, 1, 1)}  # noqa: DTZ001


def write_workbook(target: BinaryIO) -> None:
    """The whole register, in one query a sheet."""
    _write(target, with_rows=True)


def write_blank_workbook(target: BinaryIO) -> None:
    """Headings, notes and lists of words, to be filled in."""
    _write(target, with_rows=False)


def _write(target: BinaryIO, *, with_rows: bool) -> None:
    workbook = xlsxwriter.Workbook(target, {"constant_memory": True})
    workbook.set_properties(PROPERTIES)
    formats = {
        "title": workbook.add_format({"bold": True, "font_size": 14}),
        "wrapped": workbook.add_format({"text_wrap": True, "valign": "top"}),
        "key": workbook.add_format(HEADING | {"bg_color": "#3B4A54", "font_color": "#FFFFFF"}),
        "heading": workbook.add_format(HEADING | {"bg_color": "#DCE1E4"}),
        "text": workbook.add_format({"num_format": "@"}),
        "date": workbook.add_format({"num_format": "yyyy-mm-dd"}),
    }
    _write_introduction(workbook.add_worksheet(READ_ME), formats)
    worksheets = {sheet.name: workbook.add_worksheet(sheet.name) for sheet in SHEETS}
    lists = _write_words(workbook.add_worksheet(WORDS), formats)
    for sheet in SHEETS:
        worksheet = worksheets[sheet.name]
        _lay_out(sheet, worksheet, formats, lists)
        if with_rows:
            _write_rows(sheet, worksheet, formats)
    workbook.close()


def _write_introduction(worksheet, formats: dict) -> None:
    worksheet.set_column(0, 0, 24)
    worksheet.set_column(1, 1, 100, formats["wrapped"])
    worksheet.write_string(0, 0, "The register as a workbook", formats["title"])
    rows = [("", text) for text in INTRODUCTION] + [("", "")] + [(sheet.name, sheet.help) for sheet in SHEETS]
    for row, (name, text) in enumerate(rows, start=2):
        if name:
            worksheet.write_url(row, 0, f"internal:'{name}'!A1", string=name)
        worksheet.write_string(row, 1, text, formats["wrapped"])


def _choices(column: Column, sheet: Sheet) -> tuple[str, ...]:
    """What a cell of the column may be, or usually is."""
    if is_unit(column):
        return tuple(unit.symbol for unit in all_units().values())
    if is_signal(column):
        return tuple(signal.label for signal in SIGNALS.values())
    return allowed_words(column, sheet)


def _write_words(worksheet, formats: dict) -> dict[tuple[str, ...], str]:
    """The lists of words, a column each. Returns the cells of each list, as a drop-down wants them."""
    headings: dict[tuple[str, ...], str] = {}
    for sheet in SHEETS:
        for column in sheet.columns:
            headings.setdefault(_choices(column, sheet), f"{sheet.name}: {column.heading}")
    headings.pop(())
    worksheet.set_column(0, len(headings), 24, formats["text"])
    worksheet.freeze_panes(1, 0)
    for place, heading in enumerate(headings.values()):
        worksheet.write_string(0, place, heading, formats["heading"])
    for row, words in enumerate(zip_longest(*headings), start=1):
        for place, word in enumerate(words):
            if word is not None:
                worksheet.write_string(row, place, word, formats["text"])
    return {words: f"={WORDS}!{xl_range_abs(1, place, len(words), place)}" for place, words in enumerate(headings)}


def _lay_out(sheet: Sheet, worksheet, formats: dict, lists: dict[tuple[str, ...], str]) -> None:
    """Headings with their notes, widths, and the list that a cell is chosen from."""
    key = TABLES[sheet.table].key
    last_column = len(sheet.columns) - 1
    worksheet.freeze_panes(1, sum(column.path in key for column in sheet.columns[:2]))
    worksheet.autofilter(0, 0, LAST_ROW, last_column)
    worksheet.ignore_errors({"number_stored_as_text": xl_range(0, 0, LAST_ROW, last_column)})
    worksheet.set_row(0, 48)
    for place, column in enumerate(sheet.columns):
        is_date = isinstance(column.field_of(sheet.table), DateField)
        worksheet.set_column(place, place, _width(column, sheet), formats["date" if is_date else "text"])
        worksheet.write_string(0, place, column.heading, formats["key" if column.path in key else "heading"])
        if note := _note(column, sheet):
            worksheet.write_comment(0, place, note, {"x_scale": 2})
        choices = _choices(column, sheet)
        if choices and not column.words:
            choose = {
                "validate": "list",
                "source": lists[choices],
                "error_message": "Choose one of the list.",
                "show_error": choices == allowed_words(column, sheet),
            }
            worksheet.data_validation(1, place, LAST_ROW, place, choose)


def _note(column: Column, sheet: Sheet) -> str:
    return " ".join(filter(None, (column.help, "It must be filled in." if sheet.requires(column) else "")))


def _width(column: Column, sheet: Sheet) -> int:
    kept = column.field_of(sheet.table)
    if isinstance(kept, CharField | TextField) and not kept.choices and not is_unit(column):
        return 40 if (kept.max_length or 200) >= 120 else 20
    return 40 if column.words or kept.many_to_many else 14


def _write_rows(sheet: Sheet, worksheet, formats: dict) -> None:
    for row, facts in enumerate(_rows(sheet), start=1):
        for place, column in enumerate(sheet.columns):
            cell = to_cell(column, sheet, facts)
            if isinstance(cell, str):
                worksheet.write_string(row, place, cell, formats["text"])  # never a formula, whatever it begins with
            elif isinstance(cell, date):
                worksheet.write_datetime(row, place, cell, formats["date"])
            elif cell is not None:
                worksheet.write_number(row, place, cell)


def _rows(sheet: Sheet) -> Iterator[dict[str, Any]]:
    """The facts of every row of a sheet's table, by path."""
    many = [column.path for column in sheet.columns if column.field_of(sheet.table).many_to_many]
    paths = [path for column in sheet.columns for path in paths_of(column) if path not in many]
    lists: dict[str, dict[int, tuple[str, ...]]] = {path: defaultdict(tuple) for path in many}
    for path in many:
        pairs = sheet.table.objects.order_by(f"{path}__name").filter(**{f"{path}__isnull": False})
        for pk, name in pairs.values_list("pk", f"{path}__name"):
            lists[path][pk] += (name,)
    for pk, *row in sheet.table.objects.order_by(*sheet.order).values_list("pk", *paths).iterator():
        yield dict(zip(paths, row, strict=True)) | {path: lists[path][pk] for path in many}
