"""An import adds what is new, changes what differs, leaves the rest, and does all of it or nothing."""

from __future__ import annotations

import pytest
from django.db import IntegrityError

from register.exchange.reading import WorkbookRefused, import_workbook
from register.models import Area, Asset, Finding, Installation, Loop, Revision, Tag, User
from register.services import recording
from register.services.permissions import NotAllowed
from tests.exchange.workbooks import RIGHT, changed, with_row, workbook

pytestmark = pytest.mark.django_db


@pytest.fixture
def bring_in(person):
    def bring_in(rows: dict = RIGHT, by: str = "planner"):
        return import_workbook(workbook(rows), by=person(by), name="test.xlsx")

    return bring_in


def counts(report, sheet: str) -> tuple[int, int, int]:
    one = report.counts[sheet]
    return one.added, one.changed, one.unchanged


@pytest.mark.parametrize("role", ["technician", "auditor"])
def test_only_planners_and_administrators_may_import(role, bring_in):
    with pytest.raises(NotAllowed, match="These roles may: planner, administrator"):
        bring_in(by=role)
    assert not Area.objects.exists()


def test_a_changed_row_is_changed_and_a_new_one_added(bring_in):
    bring_in()
    rows = changed("Loops", 2, Service="Steam header pressure")
    rows["Tags"].append({"Tag": "PV-101", "Loop": "P-101", "Role": "final element"})
    report = bring_in(rows)
    assert counts(report, "Loops") == (0, 1, 0)
    assert counts(report, "Tags") == (1, 0, 2)
    assert counts(report, "Areas") == (0, 0, 2)
    assert Loop.objects.get().service == "Steam header pressure"
    latest = Revision.objects.first()
    assert (latest.number, latest.changes[0]) == (2, "service Steam pressure → Steam header pressure")


def test_what_the_workbook_does_not_name_stays(bring_in):
    bring_in()
    rows = {name: [] for name in RIGHT} | {"Areas": [{"Code": "EF", "Name": "Effluent"}]}
    report = bring_in(rows)
    assert counts(report, "Areas") == (1, 0, 0)
    assert Tag.objects.count() == 2
    assert Revision.objects.count() == 1


def test_an_empty_cell_says_that_the_fact_is_not_recorded(bring_in):
    bring_in()
    bring_in(changed("Loops", 2, Normal_value=None))
    assert Loop.objects.get().normal_value is None


def test_a_row_may_refer_to_what_the_register_already_holds(bring_in):
    bring_in()
    rows = {name: [] for name in RIGHT} | {"Tags": [{"Tag": "PI-101", "Loop": "P-101", "Role": "indicator"}]}
    bring_in(rows)
    assert Tag.objects.get(name="PI-101").loop.number == "P-101"


def test_a_clash_with_what_the_register_holds_is_told(bring_in):
    bring_in()
    rows = {name: [] for name in RIGHT}
    rows["Assets"] = [RIGHT["Assets"][0] | {"Asset": "A2", "Serial number": "0018"}]
    rows["Installations"] = [{"Asset": "A2", "Tag": "PIC-101", "From": "2025-01-01"}]
    with pytest.raises(WorkbookRefused) as refused:
        bring_in(rows)
    assert [str(problem) for problem in refused.value.problems] == [
        "sheet Installations, row 2, Tag: “PIC-101”: PIC-101: the tag already holds another asset that was not taken "
        "out. Fill in when it came out."
    ]


def test_one_workbook_takes_an_asset_out_and_puts_another_in(bring_in):
    bring_in()
    rows = changed("Installations", 2, To="2025-01-01")
    rows["Assets"].append(RIGHT["Assets"][0] | {"Asset": "A2", "Serial number": "0018"})
    rows["Installations"].append({"Asset": "A2", "Tag": "PIC-101", "From": "2025-01-01"})
    bring_in(rows)
    assert Installation.objects.current().get().asset.code == "A2"
    assert "PIC-101 asset: serial 0017 → 0018" in Revision.objects.first().changes


def test_an_area_takes_along_what_lies_below_it(bring_in):
    bring_in()
    assert Area.objects.get(code="BH").path == "Works / Boiler house"
    bring_in(changed("Areas", 2, Name="Malting works") | {"Loops": []})
    assert Area.objects.get(code="BH").path == "Malting works / Boiler house"
    assert Revision.objects.first().changes == ["area Works / Boiler house → Malting works / Boiler house"]


def test_areas_may_stand_in_any_order(bring_in):
    rows = {name: list(of_sheet) for name, of_sheet in RIGHT.items()}
    rows["Areas"].reverse()
    bring_in(rows)
    assert Area.objects.get(code="BH").path == "Works / Boiler house"


def test_only_the_loops_that_a_change_reaches_get_a_revision(bring_in):
    rows = with_row("Loops", Loop="P-102", Area="BH", Kind="indication", Criticality="routine")
    bring_in(rows)
    rows["Loops"][1] = rows["Loops"][1] | {"Service": "Vacuum"}
    bring_in(rows)
    assert list(Revision.objects.order_by("pk").values_list("loop__number", "number")) == [
        ("P-101", 1),
        ("P-102", 1),
        ("P-102", 2),
    ]


def test_a_corrected_model_reaches_the_loops_that_use_it(bring_in):
    bring_in()
    bring_in(changed("Models", 2, Display_digits=4))
    assert Revision.objects.first().number == 2


def test_loops_are_checked_with_the_import(bring_in):
    bring_in()
    assert Loop.objects.get().checked_at == Revision.objects.get().at
    assert Finding.objects.open().filter(loop__number="P-101").exists()


def test_a_failure_half_way_leaves_nothing(bring_in, monkeypatch):
    """The last step, the record, fails after every table was written."""

    def fail(*args, **kwargs):
        assert Asset.objects.exists()
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(recording, "record", fail)
    with pytest.raises(RuntimeError, match="the disk is full"):
        bring_in()
    assert not Area.objects.exists()
    assert not Asset.objects.exists()


def test_two_rows_of_one_workbook_exchange_what_only_one_may_have(bring_in):
    """Two areas their names, two assets their serial numbers."""
    rows = with_row("Areas", Code="EF", Name="Effluent", **{"Lies within": "W"})
    rows["Assets"].append(RIGHT["Assets"][0] | {"Asset": "A2", "Serial number": "0018"})
    bring_in(rows)
    rows["Areas"][1] = rows["Areas"][1] | {"Name": "Effluent"}
    rows["Areas"][2] = rows["Areas"][2] | {"Name": "Boiler house"}
    rows["Assets"][0] = rows["Assets"][0] | {"Serial number": "0018"}
    rows["Assets"][1] = rows["Assets"][1] | {"Serial number": "0017"}
    bring_in(rows)
    assert dict(Area.objects.exclude(code="W").values_list("code", "path")) == {
        "BH": "Works / Effluent",
        "EF": "Works / Boiler house",
    }
    assert dict(Asset.objects.values_list("code", "serial")) == {"A1": "0018", "A2": "0017"}


def test_what_only_the_database_refuses_leaves_nothing_and_is_told(bring_in, monkeypatch):
    bring_in()

    def another_was_quicker(*args, **kwargs):
        raise IntegrityError("UNIQUE constraint failed")

    monkeypatch.setattr(recording, "record", another_was_quicker)
    with pytest.raises(WorkbookRefused, match="One problem was found") as refused:
        bring_in(changed("Loops", 2, Service="Steam header pressure"))
    assert "The database refused the rows together, and none was kept" in str(refused.value.problems[0])
    assert Loop.objects.get().service == "Steam pressure"


def test_an_import_asks_a_number_of_queries_that_does_not_grow_with_the_rows(bring_in, django_assert_max_num_queries):
    User.objects.get_or_create(username="planner", defaults={"role": "planner"})
    rows = {name: list(of_sheet) for name, of_sheet in RIGHT.items()}
    rows["Loops"] += [RIGHT["Loops"][0] | {"Loop": f"P-{number}"} for number in range(200, 300)]
    rows["Tags"] += [RIGHT["Tags"][0] | {"Tag": f"PT-{n}", "Loop": f"P-{n}"} for n in range(200, 300)]
    with django_assert_max_num_queries(200):
        bring_in(rows)
