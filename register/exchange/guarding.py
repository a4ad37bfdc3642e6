"""Opening a workbook that a stranger may have made: what it would cost is found out before it is paid.

A spreadsheet is a zip archive of XML. A few kilobytes of it can unpack to gigabytes, and one cell at the far corner of
an otherwise empty sheet makes its reader lay out seventeen thousand million cells.
"""

from __future__ import annotations

import re
import zipfile
from io import BytesIO
from xml.parsers import expat

from python_calamine import CalamineError, CalamineWorkbook

MEGABYTE = 1024 * 1024
GREATEST_FILE = 64 * MEGABYTE
GREATEST_UNPACKED = 1024 * MEGABYTE
MOST_CELLS = 30_000_000


class NotAWorkbook(ValueError):
    """The file cannot be taken as a workbook; the message says what it is and what to do."""


def open_workbook(data: bytes) -> CalamineWorkbook:
    """A workbook that is safe to read whole. Raises NotAWorkbook."""
    if not data:
        raise NotAWorkbook("The file is empty. Choose the workbook again.")
    if len(data) > GREATEST_FILE:
        raise NotAWorkbook(
            f"The file is larger than {GREATEST_FILE // MEGABYTE} MB, the most that is taken. Import it in parts."
        )
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise NotAWorkbook(
            "The workbook is protected by a password or is of the old .xls kind. Save it as .xlsx without a password."
        )
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            _measure(archive)
        return CalamineWorkbook.from_filelike(BytesIO(data))
    except (zipfile.BadZipFile, CalamineError, expat.ExpatError, NotImplementedError, EOFError, RuntimeError):
        raise NotAWorkbook(
            "The file is not an .xlsx workbook, whatever its name says, or it is damaged. "
            "Open it in a spreadsheet program and save it as .xlsx."
        ) from None


def _measure(archive: zipfile.ZipFile) -> None:
    if sum(part.file_size for part in archive.infolist()) > GREATEST_UNPACKED:
        raise NotAWorkbook(
            f"Unpacked, the workbook would take more than {GREATEST_UNPACKED // MEGABYTE} MB. Import it in parts."
        )
    for name in archive.namelist():
        if re.fullmatch(r"xl/worksheets/[^/]+\.xml", name, re.IGNORECASE):
            with archive.open(name) as sheet:
                _measure_sheet(sheet)


def _measure_sheet(sheet) -> None:
    """Raises NotAWorkbook where the sheet spans too many cells or shows an error in one of them."""
    last_row = last_column = 0

    def element(name: str, attributes: dict[str, str]) -> None:
        nonlocal last_row, last_column
        if not name.endswith("c") or name.rpartition(":")[2] != "c":
            return
        if match := re.fullmatch(r"([A-Z]{1,3})(\d{1,7})", attributes.get("r", "")):
            column = 0
            for letter in match[1]:
                column = column * 26 + ord(letter) - 64
            last_row, last_column = max(last_row, int(match[2])), max(last_column, column)
        if attributes.get("t") == "e":
            raise NotAWorkbook(
                f"The cell {attributes.get('r', '?')} of one of the sheets shows an error such as #REF! or #DIV/0!, "
                "so what it should say is lost. Put it right and save again."
            )

    def doctype(*_) -> None:
        raise NotAWorkbook("The workbook holds a document type, which no spreadsheet program writes. Save it anew.")

    parser = expat.ParserCreate()
    parser.StartElementHandler = element
    parser.StartDoctypeDeclHandler = doctype
    parser.ParseFile(sheet)
    if last_row * last_column > MOST_CELLS:
        raise NotAWorkbook(
            f"A sheet reaches to row {last_row:,} and column {last_column:,}, which is more than can be read. "
            "Delete the empty rows and columns beyond your data and save again."
        )
