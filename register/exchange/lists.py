"""A list as a file: XLSX, CSV or JSON, row by row, so that a long one takes no more memory than a short one.

Numbers stay numbers with their digits, days stay days. Text is never a live formula, whatever it begins with.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import BinaryIO

import msgspec
import xlsxwriter
from django.utils.timezone import template_localtime

Cell = str | bool | int | float | Decimal | date | Sequence[str] | None

MOST_DIGITS = 15
"""Of a number in a spreadsheet, which keeps binary floating point (ECMA-376); a longer one goes in as text."""
FIRST_DAY = date(1900, 3, 1)
"""The first that every spreadsheet program counts alike: an earlier one goes in as text."""


class TooLong(ValueError):
    """The list has more rows than the format holds; the message says what to do."""


@dataclass(frozen=True)
class Listing:
    """A list to be written.

    ``fields`` are the names that a program reads, ``headings`` those that people do; ``notes`` are pairs that say what
    the list is of: the day, what it was narrowed by.
    """

    name: str
    fields: Sequence[str]
    headings: Sequence[str]
    rows: Iterable[Sequence[Cell]]
    notes: Mapping[str, str]


def write_xlsx(target: BinaryIO, listing: Listing) -> None:
    """One sheet: the notes, headings that stay in sight with a filter on each, the rows. Raises TooLong."""
    workbook = xlsxwriter.Workbook(target, {"constant_memory": True})
    heading = workbook.add_format({"bold": True, "text_wrap": True, "valign": "top", "bg_color": "#DCE1E4"})
    day = workbook.add_format({"num_format": "yyyy-mm-dd"})
    moment = workbook.add_format({"num_format": "yyyy-mm-dd hh:mm"})
    decimals: dict[int, object] = {}

    def number(value: Decimal) -> object:
        """The format that shows as many decimals as were typed."""
        places = max(0, -value.as_tuple().exponent)
        if places not in decimals:
            decimals[places] = workbook.add_format({"num_format": f"0.{'0' * places}" if places else "0"})
        return decimals[places]

    sheet = workbook.add_worksheet(re.sub(r"[\[\]:*?/\\']", "-", listing.name)[:31])
    for row, (what, said) in enumerate(listing.notes.items()):
        sheet.write_string(row, 0, f"{what}: {said}")
    top = len(listing.notes) + 1 if listing.notes else 0
    last = len(listing.headings) - 1
    sheet.set_column(0, 0, 32)
    sheet.set_column(1, max(1, last), 18)
    for column, text in enumerate(listing.headings):
        sheet.write_string(top, column, text, heading)
    row = top
    for row, cells in enumerate(listing.rows, start=top + 1):
        if row >= sheet.xls_rowmax:
            raise TooLong(
                f"The list has more rows than the {sheet.xls_rowmax:,} of a spreadsheet. Narrow it, or take it as CSV."
            )
        for column, cell in enumerate(cells):
            match cell:
                case None | "":
                    pass
                case bool():
                    sheet.write_string(row, column, _text(cell))
                case Decimal() if cell.is_finite() and len(cell.as_tuple().digits) <= MOST_DIGITS:
                    sheet.write_number(row, column, cell, number(cell))
                case int() | float() if abs(cell) < 10**MOST_DIGITS:
                    sheet.write_number(row, column, cell)
                case datetime() if cell.date() >= FIRST_DAY:
                    sheet.write_datetime(row, column, template_localtime(cell).replace(tzinfo=None), moment)
                case date() if not isinstance(cell, datetime) and cell >= FIRST_DAY:
                    sheet.write_datetime(row, column, cell, day)
                case _:
                    sheet.write_string(row, column, _text(cell))
    sheet.autofilter(top, 0, row, last)
    sheet.freeze_panes(top + 1, 1)
    workbook.close()


LIVE = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What makes a spreadsheet program take text of a CSV file for a formula. Source: OWASP, CSV Injection."""


def write_csv(target: BinaryIO, listing: Listing) -> None:
    """RFC 4180, in UTF-8 with the mark by which spreadsheet programs know it; numbers with a decimal point.

    Text that would be a live formula gets an apostrophe before it.
    """
    text = io.TextIOWrapper(target, encoding="utf-8-sig", newline="")
    writer = csv.writer(text)
    writer.writerow(_inert(heading) for heading in listing.headings)
    writer.writerows([_inert(cell) for cell in cells] for cells in listing.rows)
    text.detach()


def _inert(cell: Cell) -> str:
    text = _text(cell)
    return f"'{text}" if not isinstance(cell, int | float | Decimal) and text.startswith(LIVE) else text


def write_json(target: BinaryIO, listing: Listing) -> None:
    """An object with the notes and the rows, each row an object by field. Decimals are numbers, digit for digit."""
    encode = msgspec.json.Encoder(decimal_format="number").encode
    target.write(b'{"list":%b,"notes":%b,"rows":[' % (encode(listing.name), encode(listing.notes)))
    between = b"\n"
    for cells in listing.rows:
        target.write(between + encode(dict(zip(listing.fields, cells, strict=True))))
        between = b",\n"
    target.write(b"\n]}\n")


WRITERS = {"xlsx": write_xlsx, "csv": write_csv, "json": write_json}


def _text(cell: Cell) -> str:
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case Decimal():
            return format(cell, "f")
        case datetime():
            return template_localtime(cell).isoformat(sep=" ", timespec="seconds")
        case date():
            return cell.isoformat()
        case list() | tuple():
            return ", ".join(cell)
    return str(cell)
