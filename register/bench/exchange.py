"""A workbook in and out, beside reading and writing the same cells, and the same rows, with nothing around them."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from tempfile import TemporaryFile

import xlsxwriter
from django.db import transaction
from python_calamine import CalamineWorkbook

from register.bench.comparison import Comparison
from register.exchange.reading import read_workbook
from register.exchange.sheets import SHEETS
from register.exchange.writing import write_workbook
from register.models import Area, Loop, Tag, User
from register.services import bulk
from register.services.importing import Plan, import_register

TAGS_IN_A_LOOP = 5
FEWEST = 1000
ROLES = ("sensor", "transmitter", "controller", "indicator", "final element")


def comparisons() -> Iterator[Comparison]:
    """As many new tags as the register holds, or a thousand, in new loops; then the register itself."""
    count = max(FEWEST, Tag.objects.count())
    book = _workbook(count)
    size = f"{count} tags in {count // TAGS_IN_A_LOOP} loops, {len(book) // 1024} kB"
    yield Comparison(
        "a workbook of tags read and checked",
        size,
        "the same cells read by python-calamine alone",
        lambda: read_workbook(book),
        lambda: _read(book),
    )
    floor = "the cells read, and the rows written by COPY or one prepared statement"
    yield Comparison(
        "the same read, checked, compared with the register and written",
        size,
        floor,
        lambda: _write_rows(book),
        lambda: _copy(book, count),
    )
    yield Comparison(
        "the same imported: its loops recorded and checked against the rules too",
        size,
        floor,
        lambda: _import(book),
        lambda: _copy(book, count),
    )
    cells = _cells(_exported())
    yield Comparison(
        "the whole register as a workbook",
        f"{sum(len(rows) for rows in cells)} rows",
        "the same cells written by XlsxWriter alone",
        _exported,
        lambda: _write(cells),
    )


def _workbook(count: int) -> bytes:
    target = BytesIO()
    book = xlsxwriter.Workbook(target, {"constant_memory": True})
    rows = {
        "Areas": [{"Code": "BENCH", "Name": "Benchmark"}],
        "Loops": (
            {"Loop": f"B-{loop}", "Service": "Level", "Area": "BENCH", "Kind": "control", "Criticality": "routine"}
            for loop in range(count // TAGS_IN_A_LOOP)
        ),
        "Tags": (
            {
                "Tag": f"B{tag % TAGS_IN_A_LOOP}-{tag // TAGS_IN_A_LOOP}",
                "Loop": f"B-{tag // TAGS_IN_A_LOOP}",
                "Role": ROLES[tag % TAGS_IN_A_LOOP],
                "Description": f"Item {tag} of the benchmark",
                "Location": "field",
                "Greatest ambient (°C)": "40.5",
                "Zone": "2",
            }
            for tag in range(count // TAGS_IN_A_LOOP * TAGS_IN_A_LOOP)
        ),
    }
    for sheet in SHEETS:
        worksheet = book.add_worksheet(sheet.name)
        places = {column.heading: place for place, column in enumerate(sheet.columns)}
        worksheet.write_row(0, 0, places)
        for number, row in enumerate(rows.get(sheet.name, ()), start=1):
            for heading, cell in row.items():
                worksheet.write_string(number, places[heading], cell)
    book.close()
    return target.getvalue()


def _read(book: bytes) -> int:
    workbook = CalamineWorkbook.from_filelike(BytesIO(book))
    return sum(len(row) for name in workbook.sheet_names for row in workbook.get_sheet_by_name(name).iter_rows())


def _write_rows(book: bytes) -> None:
    with transaction.atomic():
        plan = Plan(read_workbook(book).sheets)
        if plan.problems():
            raise ValueError("the benchmark's own workbook is wrong")
        plan.survey()
        for _ in plan.write():
            pass
        transaction.set_rollback(True)


def _import(book: bytes) -> None:
    with transaction.atomic():
        by = User.objects.create(username="benchmark", role="planner")
        import_register(read_workbook(book).sheets, by=by, reason="Benchmark")
        transaction.set_rollback(True)


def _copy(book: bytes, count: int) -> None:
    _read(book)
    loops = count // TAGS_IN_A_LOOP
    with transaction.atomic():
        area = Area.objects.create(code="BENCH", name="Benchmark", path="Benchmark")
        keys = bulk.reserve(Loop, loops)
        _insert(Loop(area=area, service="Level"), ((pk, f"B-{loop}", area.pk) for loop, pk in enumerate(keys)), "area")
        tag = Tag(role="controller", description="Item 100000 of the benchmark", location="field", zone="2")
        tags = (
            (pk, f"B{one % TAGS_IN_A_LOOP}-{one // TAGS_IN_A_LOOP}", keys[one // TAGS_IN_A_LOOP])
            for one, pk in enumerate(bulk.reserve(Tag, loops * TAGS_IN_A_LOOP))
        )
        _insert(tag, tags, "loop")
        transaction.set_rollback(True)


def _insert(like: Loop | Tag, rows: Iterator[tuple[int, str, int]], relation: str) -> None:
    """Rows like one, but for their key, their name and what they refer to."""
    columns = like._meta.concrete_fields
    places = {column.name: place for place, column in enumerate(columns)}
    key, name, other = (places[one] for one in ("id", "number" if relation == "area" else "name", relation))
    values = list(bulk.prepared(like, columns))

    def filled() -> Iterator[list]:
        for values[key], values[name], values[other] in rows:
            yield values

    bulk.insert(type(like), columns, filled())


def _exported() -> bytes:
    with TemporaryFile() as target:
        write_workbook(target)
        target.seek(0)
        return target.read()


def _cells(book: bytes) -> list[list[list]]:
    workbook = CalamineWorkbook.from_filelike(BytesIO(book))
    return [workbook.get_sheet_by_name(name).to_python() for name in workbook.sheet_names]


def _write(cells: list[list[list]]) -> None:
    with TemporaryFile() as target:
        book = xlsxwriter.Workbook(target, {"constant_memory": True})
        for rows in cells:
            worksheet = book.add_worksheet()
            for number, row in enumerate(rows):
                for place, cell in enumerate(row):
                    if cell != "":
                        worksheet.write(number, place, cell)
        book.close()
