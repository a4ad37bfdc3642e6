"""Opening a workbook that a stranger may have made: what it would cost is found out before it is paid.

A spreadsheet is a zip archive of XML. A few kilobytes of it can unpack to gigabytes, and one cell at the far corner of
an otherwise empty sheet makes its reader lay out seventeen thousand million cells, which ends the whole process.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable, Collection
from io import BytesIO
from xml.parsers import expat

from python_calamine import CalamineError, CalamineWorkbook

MEGABYTE = 1024 * 1024
GREATEST_FILE = 64 * MEGABYTE
GREATEST_UNPACKED = 1024 * MEGABYTE
MOST_CELLS = 30_000_000

CONTENTS = "xl/workbook.xml"
WHERE_PARTS_ARE = "xl/_rels/workbook.xml.rels"
OF_OTHER_FORMATS = {"content.xml", "xl/workbook.bin"}


class NotAWorkbook(ValueError):
    """The file cannot be taken as a workbook; the message says what it is and what to do."""


def open_workbook(data: bytes, sheets: Collection[str]) -> CalamineWorkbook:
    """A workbook of which the sheets of these names are safe to read whole. Raises NotAWorkbook."""
    return _open(data, sheets, _measure, ".xlsx")


def open_ods(data: bytes, sheets: Collection[str]) -> CalamineWorkbook:
    """An OpenDocument spreadsheet of which the sheets of these names are safe to read whole. Raises NotAWorkbook."""
    return _open(data, sheets, _measure_ods, ".ods")


def _open(
    data: bytes, sheets: Collection[str], measure: Callable[[zipfile.ZipFile, Collection[str]], None], kind: str
) -> CalamineWorkbook:
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
            if sum(part.file_size for part in archive.infolist()) > GREATEST_UNPACKED:
                raise NotAWorkbook(
                    f"Unpacked, the workbook would take more than {GREATEST_UNPACKED // MEGABYTE} MB. "
                    "Import it in parts."
                )
            measure(archive, {name.strip().casefold() for name in sheets})
        return CalamineWorkbook.from_filelike(BytesIO(data))
    except (zipfile.BadZipFile, CalamineError, expat.ExpatError, NotImplementedError, EOFError, RuntimeError):
        raise NotAWorkbook(
            f"The file is not an {kind} workbook, whatever its name says, or it is damaged. "
            f"Open it in a spreadsheet program and save it as {kind}."
        ) from None


def _measure(archive: zipfile.ZipFile, wanted: Collection[str]) -> None:
    """Raises NotAWorkbook or BadZipFile where the archive is not what it should be, or too much."""
    parts = {name.casefold(): name for name in archive.namelist()}
    if len(parts) < len(archive.namelist()) or not {CONTENTS, WHERE_PARTS_ARE} <= parts.keys():
        raise zipfile.BadZipFile("a part is there twice, or the list of parts is not there")
    if OF_OTHER_FORMATS & parts.keys():
        raise zipfile.BadZipFile("another format")
    names = _sheet_names(archive, parts)
    for path, part in parts.items():
        file = path.rpartition("/")[2]
        try:
            _measure_sheet(
                archive, part, names.get(file, ""), looks_for_errors=names.get(file, "").casefold() in wanted
            )
        except expat.ExpatError:
            if file in names:  # wherever the workbook says that it lies; a picture is no XML and no harm
                raise


def _sheet_names(archive: zipfile.ZipFile, parts: dict[str, str]) -> dict[str, str]:
    """File names of all parts that the workbook names, each with the name of the sheet in it ("": no sheet)."""
    files: dict[str, str] = {}
    names: dict[str, str] = {}

    def relationship(element: str, attributes: dict[str, str]) -> None:
        if element == "Relationship":
            files[attributes.get("Id", "")] = attributes.get("Target", "").casefold().rpartition("/")[2]

    def sheet(element: str, attributes: dict[str, str]) -> None:
        if element == "sheet":
            ids = [value for key, value in attributes.items() if key.rpartition(":")[2] == "id"]
            names.update({files[one]: attributes.get("name", "") for one in ids if one in files})

    _scan(archive, parts[WHERE_PARTS_ARE], relationship)
    _scan(archive, parts[CONTENTS], sheet)
    return dict.fromkeys(files.values(), "") | names


def _measure_sheet(archive: zipfile.ZipFile, part: str, name: str, *, looks_for_errors: bool) -> None:
    """Raises NotAWorkbook where the part spans too many cells, or shows an error in one of them."""
    last_row = last_column = 0
    columns: dict[str, int] = {"": 0}

    def element(element: str, attributes: dict[str, str]) -> None:
        nonlocal last_row, last_column
        if element not in ("row", "c") or not (place := attributes.get("r")):
            return
        letters = place.rstrip("0123456789")
        row = place[len(letters) :]
        if letters not in columns:
            columns[letters] = _column(letters, place)
        if not 1 <= len(row) <= 7:
            raise expat.ExpatError(f"{place} is no cell")
        last_row, last_column = max(last_row, int(row)), max(last_column, columns[letters])
        if looks_for_errors and attributes.get("t") == "e":
            raise NotAWorkbook(
                f"The cell {place} of the sheet {name} shows an error such as #REF! or #DIV/0!, so what it should "
                "say is lost. Put it right and save again."
            )

    _scan(archive, part, element)
    _limit(name, last_row, last_column)


def _column(letters: str, place: str) -> int:
    if not re.fullmatch(r"[A-Za-z]{1,3}", letters):
        raise expat.ExpatError(f"{place} is no cell")
    column = 0
    for letter in letters.upper():
        column = column * 26 + ord(letter) - 64
    return column


def _limit(name: str, last_row: int, last_column: int) -> None:
    if last_row * last_column > MOST_CELLS:
        raise NotAWorkbook(
            f"The sheet {name} reaches to row {last_row:,} and column {last_column:,}, which is more than can be read. "
            "Delete the empty rows and columns beyond your data and save again."
        )


ODS_CONTENT = "content.xml"
ODS_ERROR = re.compile(r"#(?:REF|DIV/0|VALUE|N/A|NAME|NUM|NULL)[!?]?|Err:\d{3}")


def _measure_ods(archive: zipfile.ZipFile, wanted: Collection[str]) -> None:
    """As :func:`_measure`. One element can stand for many equal rows or cells, all of which the reader lays out."""
    if archive.namelist().count(ODS_CONTENT) != 1:
        raise zipfile.BadZipFile("no content, or twice")
    sheet, row, rows, column, cells, last_row, last_column, unpacked, text = "", 0, 1, 0, 1, 0, 0, 0, ""

    def element(name: str, attributes: dict[str, str]) -> None:
        nonlocal sheet, row, rows, column, cells, last_row, last_column, text
        if name == "table":
            sheet, row, rows, last_row, last_column = attributes.get("table:name", ""), 0, 1, 0, 0
        elif name == "table-row":
            rows, column, cells = _repeated(attributes, "table:number-rows-repeated"), 0, 1
        elif name in ("table-cell", "covered-table-cell"):
            cells, text = _repeated(attributes, "table:number-columns-repeated"), ""
            if "office:value-type" in attributes:
                last_row, last_column = max(last_row, row + rows), max(last_column, column + cells)
                _limit(sheet, last_row, last_column)

    def end(name: str) -> None:
        nonlocal row, column, unpacked
        if name == "table-row":
            row += rows
        elif name in ("table-cell", "covered-table-cell"):
            column += cells
            unpacked += len(text) * rows * cells
            if unpacked > GREATEST_UNPACKED:
                raise NotAWorkbook(
                    f"Unpacked, the sheet {sheet} would take more than {GREATEST_UNPACKED // MEGABYTE} MB. "
                    "Import it in parts."
                )
            if sheet.strip().casefold() in wanted and ODS_ERROR.fullmatch(text):
                raise NotAWorkbook(
                    f"A cell in row {row + 1} of the sheet {sheet} shows an error such as #REF! or #DIV/0!, so what it "
                    "should say is lost. Put it right and save again."
                )

    def characters(data: str) -> None:
        nonlocal text
        text += data

    _scan(archive, ODS_CONTENT, element, end, characters)


def _repeated(attributes: dict[str, str], name: str) -> int:
    times = attributes.get(name, "1")
    if not re.fullmatch(r"\d{1,7}", times):
        raise expat.ExpatError(f"{times} is no number of times")
    return int(times)


def _scan(
    archive: zipfile.ZipFile,
    part: str,
    element: Callable[[str, dict[str, str]], None],
    end: Callable[[str], None] | None = None,
    characters: Callable[[str], None] | None = None,
) -> None:
    """Call with each element of a part: its name without prefix, and its attributes; its end; the text in it."""

    def doctype(*_) -> None:
        raise NotAWorkbook("The workbook holds a document type, which no spreadsheet program writes. Save it anew.")

    parser = expat.ParserCreate()
    parser.StartElementHandler = lambda name, attributes: element(
        name.rpartition(":")[2] if ":" in name else name, attributes
    )
    parser.StartDoctypeDeclHandler = doctype
    if end and characters:
        parser.EndElementHandler = lambda name: end(name.rpartition(":")[2])
        parser.CharacterDataHandler = characters
    with archive.open(part) as content:
        parser.ParseFile(content)
