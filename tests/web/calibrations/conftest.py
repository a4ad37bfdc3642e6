from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from register.models import Tag
from register.models.calibrations import Way
from register.plant import sketch
from register.services.calibrating import Reading, record_calibration
from tests import factories

RUNS = {Way.UP: (0, 25, 50, 75, 100), Way.DOWN: (75, 50, 25, 0)}
MILLIAMPS = {0: Decimal(4), 25: Decimal(8), 50: Decimal(12), 75: Decimal(16), 100: Decimal(20)}


def off_by(found: str, left: str | None = None) -> list[Reading]:
    """Readings of a 4–20 mA transmitter that is so many mA too high everywhere."""
    return [
        Reading(percent, way, *(None if off is None else MILLIAMPS[percent] + Decimal(off) for off in (found, left)))
        for way, percents in RUNS.items()
        for percent in percents
    ]


@pytest.fixture
def loop(person):
    """A cascade's neighbour: pressure, its transmitter calibrated every 12 months."""
    made = factories.loop(sketch.pressure_loop(), by=person("planner"))
    Tag.objects.filter(name="PT-201").update(calibration_interval_months=12)
    return made


@pytest.fixture
def calibrated(loop, person):
    """Records a calibration of PT-201 on a day."""

    def calibrated(on: date, points=None, **facts):
        loop.refresh_from_db()
        usual = {
            "by_whom": "J. Hartwell",
            "standard": "Loop calibrator LC-02",
            "certificate": "CR-24-001",
            "tolerance_percent": Decimal("0.25"),
            "standard_uncertainty_percent": Decimal("0.05"),
        }
        return record_calibration(
            Tag.objects.get(name="PT-201"),
            on=on,
            points=points or off_by("0.01"),
            by=person("technician"),
            seen_revision=loop.revision,
            reason="Yearly calibration",
            **(usual | facts),
        )

    return calibrated
