"""Opening an index: the tables in an XLSX or ODS workbook or a text file, whatever its encoding and separator."""

from __future__ import annotations

import codecs
import csv
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from io import BytesIO, TextIOWrapper

from python_calamine import CalamineSheet, CalamineWorkbook

from register.exchange.cells import Cell
from register.exchange.guarding import GREATEST_FILE, MEGABYTE, NotAWorkbook, open_ods, open_workbook

Line = tuple[int, list[Cell]]
"""A row's number, as a spreadsheet program shows it, and its cells."""

ENCODINGS = {
    "utf-8": "UTF-8",
    "utf-16": "UTF-16",
    "utf-16-le": "UTF-16 without a mark",
    "cp1252": "Windows, western Europe",
    "cp1250": "Windows, central Europe",
    "cp1251": "Windows, Cyrillic",
    "cp1253": "Windows, Greek",
    "cp1254": "Windows, Turkish",
    "cp850": "DOS, western Europe",
    "mac_roman": "Macintosh, western Europe",
    "koi8_r": "KOI8-R",
    "cp932": "Shift JIS",
    "gb18030": "GB 18030",
}
"""Encodings that are told apart, each with what people call it; the commoner first."""

OF_ONE_REGION = [encoding for encoding in ENCODINGS if not encoding.startswith("utf")]

SEPARATORS = {";": "semicolon", ",": "comma", "\t": "tab", "|": "vertical bar"}
_NO_TEXT = re.compile(rb"[\x00-\x08\x0e-\x1f]")
SAMPLE = 200_000
"""So many bytes of a text show how it is written."""


class CannotOpen(ValueError):
    """The file cannot be read as an index; the message says why and what to do."""


@dataclass
class IndexFile:
    """The bytes of a file and, for a text, how it is written.

    What a workbook would cost is found out before it is opened, unless it was ``measured`` when it was sent.
    """

    data: bytes
    encoding: str = ""
    separator: str = ""
    measured: bool = False

    @property
    def is_text(self) -> bool:
        return bool(self.encoding)

    @property
    def sheet_names(self) -> list[str]:
        """Of a workbook, in its order. Raises CannotOpen."""
        return [] if self.is_text else self._workbook.sheet_names

    def lines(self, sheet: str = "") -> Iterator[Line]:
        """Rows of a sheet, or of the text; one at a time. Raises CannotOpen."""
        if self.is_text:
            return _text_lines(self.data, self.encoding, self.separator)
        return _sheet_lines(self._sheet(sheet))

    def merged(self, sheet: str = "") -> list[tuple[tuple[int, int], tuple[int, int]]]:
        """Cells that are joined, from (row, column) to (row, column), both counted from 0."""
        return [] if self.is_text else self._sheet(sheet).merged_cell_ranges or []

    def check(self, sheet: str) -> None:
        """Raises CannotOpen where a cell of a sheet shows an error, which would be read as nothing."""
        if not self.is_text:
            self._opened([sheet])

    def _sheet(self, name: str) -> CalamineSheet:
        if name not in self._sheets:
            if name not in self.sheet_names:
                raise CannotOpen(f"The file has no sheet “{name}”. Choose one of its sheets.")
            self._sheets[name] = self._workbook.get_sheet_by_name(name)
        return self._sheets[name]

    @cached_property
    def _sheets(self) -> dict[str, CalamineSheet]:
        return {}

    @cached_property
    def _workbook(self) -> CalamineWorkbook:
        return CalamineWorkbook.from_filelike(BytesIO(self.data)) if self.measured else self._opened([])

    def _opened(self, sheets: list[str]) -> CalamineWorkbook:
        try:
            return (open_ods if _is_ods(self.data) else open_workbook)(self.data, sheets)
        except NotAWorkbook as refusal:
            raise CannotOpen(str(refusal)) from None


def open_index(data: bytes) -> IndexFile:
    """A file as somebody sent it. Raises CannotOpen.

    >>> open_index("Tag;Range\\nTIC-101;0,0-2,5 bar\\n".encode("cp1252"))
    IndexFile(data=b'Tag;Range\\nTIC-101;0,0-2,5 bar\\n', encoding='utf-8', separator=';', measured=False)
    """
    if len(data) > GREATEST_FILE:
        raise CannotOpen(f"The file is larger than {GREATEST_FILE // MEGABYTE} MB. Send it in parts.")
    if not data.strip():
        raise CannotOpen("The file is empty. Choose the file again.")
    if data[:2] == b"PK" or data.startswith(b"\xd0\xcf\x11\xe0"):
        file = IndexFile(data)
        if not file.sheet_names:
            raise CannotOpen("The workbook has no sheet. Choose another file.")
        return file
    encoding = encoding_of(data)
    return IndexFile(data, encoding, separator_of(_decoded(data[:SAMPLE], encoding)))


def _is_ods(data: bytes) -> bool:
    return b"mimetypeapplication/vnd.oasis.opendocument.spreadsheet" in data[:200]


def encoding_of(data: bytes) -> str:
    """In which of :data:`ENCODINGS` a text is written; it can be chosen otherwise where this is wrong.

    A mark at the beginning says it, and so does being right UTF-8. Otherwise the encoding is taken that makes words and
    units of what is no ASCII: an index has too few of such letters for statistics of languages. Raises CannotOpen.
    """
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    start = data[:100]
    if start[1::2].count(0) > len(start) / 4 > start[::2].count(0):
        return "utf-16-le"
    if _NO_TEXT.search(data):
        raise CannotOpen("The file is no table: neither an .xlsx or .ods workbook nor a text. Choose another file.")
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        telling = b"\n".join(line for line in data.splitlines() if not line.isascii())[:SAMPLE]
        return max(OF_ONE_REGION, key=lambda encoding: _sense(telling.decode(encoding, "replace")))  # first of equals
    return "utf-8"


_OF_UNITS = frozenset("°µ³²Ω±–—…×÷‰€§“”„‘’№")


def _sense(text: str) -> int:
    """How much of what is no ASCII makes words and units."""
    sense = 0
    for before, character, after in zip(" " + text, text, text[1:] + " ", strict=False):
        if character.isascii():
            continue
        if character in _OF_UNITS:
            within_word = before.isalpha() and after.isalpha() and character not in "’"
            sense += -2 if within_word else 2
        elif character.isalpha():
            alike = not before.isalpha() or _script(before) == _script(character)
            ordered = not (before.islower() and character.isupper())
            sense += 1 if alike and ordered and unicodedata.category(character) != "Lm" else -2
        else:
            sense -= 3
    return sense


def _script(letter: str) -> str:
    return unicodedata.name(letter, "").partition(" ")[0]


def separator_of(text: str) -> str:
    """The separator that gives most rows the same number of cells, and more than one.

    >>> separator_of("Tag;Range\\nTIC-101;0,5 - 2,5 bar\\nTIC-102;0,5 - 2,5 bar\\n")
    ';'
    """
    lines = text.splitlines(keepends=True)[:200]
    if len(text) >= SAMPLE:
        lines = lines[:-1]  # the last may be cut

    def agreement(separator: str) -> tuple[float, int]:
        widths = Counter(len(row) for row in csv.reader(lines, delimiter=separator) if any(row))
        width, rows = max(widths.items(), key=lambda one: (one[0] > 1, one[1], one[0]), default=(1, 0))
        return (rows / max(widths.total(), 1), width) if width > 1 else (0, 0)

    try:
        return max(SEPARATORS, key=agreement)
    except csv.Error:
        return ";"


def _decoded(data: bytes, encoding: str) -> str:
    return codecs.getincrementaldecoder(encoding)("replace").decode(data).removeprefix("\ufeff")


def _text_lines(data: bytes, encoding: str, separator: str) -> Iterator[Line]:
    stream = TextIOWrapper(BytesIO(data), encoding, errors="replace", newline="")
    reader = csv.reader(stream, delimiter=separator)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            if number == 1 and cells:
                cells[0] = cells[0].removeprefix("\ufeff")
            yield number, cells
    except csv.Error:
        raise CannotOpen(
            f"Row {number + 1} holds a cell longer than {csv.field_size_limit():,} characters. "
            "A quotation mark may not be closed there."
        ) from None


def _sheet_lines(sheet: CalamineSheet) -> Iterator[Line]:
    before = [""] * (sheet.start or (0, 0))[1]
    return ((number, before + cells) for number, cells in enumerate(sheet.iter_rows(), start=1))
