"""A list as a workbook of one sheet: headings that stay in sight, a filter on each, rows as they were shown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import BinaryIO

import xlsxwriter

Cell = str | int | float | Decimal | date | None


def write_list(
    target: BinaryIO, name: str, headings: Sequence[str], rows: Iterable[Sequence[Cell]], *, notes: Sequence[str] = ()
) -> None:
    """Write the rows under their headings; notes (what the list is, of which day) stand above them.

    Text is always a text cell, so that one which begins with = + - or @ is never taken for a formula.
    """
    workbook = xlsxwriter.Workbook(target, {"constant_memory": True})
    heading = workbook.add_format({"bold": True, "text_wrap": True, "valign": "top", "bg_color": "#DCE1E4"})
    day = workbook.add_format({"num_format": "yyyy-mm-dd"})
    sheet = workbook.add_worksheet(name)
    for row, note in enumerate(notes):
        sheet.write_string(row, 0, note)
    top = len(notes) + 1 if notes else 0
    sheet.set_column(0, 0, 32)
    sheet.set_column(1, len(headings) - 1, 18)
    for column, text in enumerate(headings):
        sheet.write_string(top, column, text, heading)
    row = top
    for row, cells in enumerate(rows, start=top + 1):
        for column, cell in enumerate(cells):
            if isinstance(cell, datetime):
                sheet.write_datetime(row, column, cell.replace(tzinfo=None), day)
            elif isinstance(cell, date):
                sheet.write_datetime(row, column, cell, day)
            elif isinstance(cell, (int, float, Decimal)):
                sheet.write_number(row, column, cell)
            elif cell:
                sheet.write_string(row, column, cell)
    sheet.autofilter(top, 0, row, len(headings) - 1)
    sheet.freeze_panes(top + 1, 1)
    workbook.close()
