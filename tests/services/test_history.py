"""Whoever changes the history behind the register's back is found out, and the row is named."""

import hashlib

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.models import Loop, Revision, Tag
from register.plant import sketch
from register.services.editing import edit_loop
from register.services.history import verify_history
from register.services.recording import chained_sha256
from tests import factories


@pytest.fixture
def loops(person):
    """T-101 and T-102 with three revisions each."""
    planner = person("planner")
    for loop in factories.many_loops(2, by=planner):
        for service in ("Steeping water", "Steep water, cistern 2"):
            loop.refresh_from_db()
            edit_loop(loop, {"service": service}, by=planner, seen_revision=loop.revision, reason="Renamed")


def sql(statement: str, *values: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def faults() -> list[str]:
    return [str(fault) for fault in verify_history().faults]


def row(loop: str, number: int) -> Revision:
    return Revision.objects.get(loop__number=loop, number=number)


def test_a_history_that_nobody_touched_has_no_fault(loops, capsys):
    call_command("verify_history")
    assert capsys.readouterr().out == (
        "6 revisions of 2 loops were read; each follows the one before and says what was recorded.\n"
    )


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("reason", "Nothing happened"),
        ("work_order", "WO 1"),
        ("at", "2024-03-04 09:30:00+00:00"),
        ("changes", "[]"),
        ("number", 9),
        ("sha256", "0" * 64),
        ("previous_sha256", "0" * 64),
    ],
)
def test_a_row_changed_in_the_database_is_named(loops, column, value):
    sql(f"UPDATE register_revision SET {column} = %s WHERE id = %s", value, row("T-101", 2).pk)
    assert any(fault.startswith("T-101 revision 2 ") for fault in faults())
    assert not any(fault.startswith("P-102") for fault in faults())


def test_a_snapshot_exchanged_for_another_is_named(loops):
    first = row("T-101", 1)
    Revision.objects.filter(pk=row("T-101", 2).pk).update(compressed=first.compressed)
    assert faults() == ["T-101 revision 2 was altered after it was recorded"]


def test_a_snapshot_that_cannot_be_read_is_named(loops):
    Revision.objects.filter(pk=row("T-101", 3).pk).update(compressed=b"nothing of the kind")
    assert faults() == ["T-101 revision 3 was altered after it was recorded"]


def test_a_row_forged_with_its_own_hash_right_breaks_the_chain_after_it(loops):
    forged = row("T-101", 2)
    forged.reason = "Nothing happened"
    Revision.objects.filter(pk=forged.pk).update(reason=forged.reason, sha256=chained_sha256(forged))
    assert faults() == [
        "T-101 revision 3 was not recorded after the revision 2 that stands here: one of the two was put in later"
    ]


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_row_taken_out_is_named(loops, number):
    Revision.objects.filter(pk=row("T-101", number).pk).delete()
    assert f"T-101 revision {number} is missing" in faults()


def test_a_loop_without_its_whole_history_is_named(loops):
    Revision.objects.filter(loop__number="P-102").delete()
    assert faults() == [f"P-102 revision {number} is missing" for number in (1, 2, 3)]


def test_a_row_dated_before_the_one_it_follows_is_out_of_order(loops):
    moved = row("T-101", 3)
    moved.at = row("T-101", 1).at.replace(year=2020)
    Revision.objects.filter(pk=moved.pk).update(at=moved.at, sha256=chained_sha256(moved))
    assert faults() == ["T-101 revision 3 is out of order: it is dated before revision 2"]


def test_the_command_names_each_fault_and_fails(loops, capsys):
    sql("UPDATE register_revision SET reason = 'x' WHERE id = %s", row("T-101", 2).pk)
    with pytest.raises(CommandError, match="6 revisions of 2 loops were read; faults found: 1"):
        call_command("verify_history")
    assert capsys.readouterr().err == "T-101 revision 2 was altered after it was recorded\n"


def test_the_hash_is_sha256_over_what_the_revision_says(loops):
    """FIPS 180-4 by the standard library: each part's length in 8 bytes, the part, and the snapshot at the end."""
    first = row("T-101", 1)
    parts = ["", str(first.loop_id), "1", first.at.isoformat(), str(first.by_id), first.reason, ""]
    said = b"".join(len(part.encode()).to_bytes(8, "big") + part.encode() for part in parts)
    assert first.sha256 == hashlib.sha256(said + first.snapshot).hexdigest()


def test_a_loop_changed_in_the_database_is_named_with_what_differs(loops):
    sql("UPDATE register_tag SET place = %s WHERE name = %s", "Panel P9", "TIC-101")
    assert faults() == ["T-101 is not what revision 3 recorded: TIC-101: place Panel P1, row 2 → Panel P9"]


def test_of_many_differences_the_first_are_told(loops):
    sql("UPDATE register_tag SET place = 'P9', description = 'x' WHERE name LIKE %s", "%-101")
    (told,) = faults()
    assert told.count(";") == 3
    assert told.endswith(" more")


def test_a_reading_changed_in_the_database_is_named(person):
    factories.loop(sketch.pressure_loop(), by=person("planner"))
    factories.calibration(Tag.objects.get(name="PT-201"), by=person("technician"))
    assert faults() == []
    sql("UPDATE register_calibrationpoint SET as_found = as_found + 1 WHERE percent = 50")
    (told,) = faults()
    assert told.startswith("The calibration of PT-201 on ")
    assert told.endswith(" has other readings than were recorded")


def test_the_revision_vouches_for_the_readings(person):
    factories.loop(sketch.pressure_loop(), by=person("planner"))
    made = factories.calibration(Tag.objects.get(name="PT-201"), by=person("technician"))
    recorded = Revision.objects.get(loop__number="P-201", number=2).loop_value()
    assert recorded.tag("PT-201").calibration.readings_sha256 == made.readings_sha256
    sql("UPDATE register_calibration SET readings_sha256 = %s", "0" * 64)
    assert any(fault.startswith("P-201 is not what revision 2 recorded: PT-201 calibration: ") for fault in faults())


def test_walking_takes_no_more_queries_for_a_longer_history(loops, person, django_assert_num_queries):
    with CaptureQueriesContext(connection) as before:
        verify_history()
    loop = Loop.objects.get(number="T-101")
    edit_loop(loop, {"service": "Steeping"}, by=person("planner"), seen_revision=loop.revision, reason="Renamed")
    factories.loop(sketch.temperature_loop("109"), by=person("planner"))
    with django_assert_num_queries(len(before)):
        verify_history()
