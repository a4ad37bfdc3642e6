"""The demo plant: the workbook in fixtures/, as a user would import it, with its dates brought up to now."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from django.conf import settings
from django.utils import timezone

from register.exchange.reading import Reading, WorkbookRefused, import_reading, read_workbook
from register.models import Loop, User
from register.services.packing import Row

WORKBOOK = settings.BASE_DIR / "fixtures" / "larkwater-maltings.xlsx"
WRITTEN_ON = date(2026, 11, 25)
"""The day as of which the workbook's dates were written: what is overdue then is overdue in the demo, nothing else."""


def load_demo(*, by: User) -> None:
    """Import the demo plant into a register without loops; one that has some is left as it is."""
    if Loop.objects.exists():
        return
    reading = read_workbook(WORKBOOK.read_bytes())
    if reading.problems:
        raise WorkbookRefused(reading.problems)
    import_reading(_moved(reading, timezone.localdate() - WRITTEN_ON), by=by, name=WORKBOOK.name)


def _moved(reading: Reading, by: timedelta) -> Reading:
    """Every date that many days later."""
    sheets = {
        table: replace(
            sheet,
            rows=[
                Row(
                    row.number,
                    {path: fact + by if isinstance(fact, date) else fact for path, fact in row.facts.items()},
                )
                for row in sheet.rows
            ],
        )
        for table, sheet in reading.sheets.items()
    }
    return replace(reading, sheets=sheets)
