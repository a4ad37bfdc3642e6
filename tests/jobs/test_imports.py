"""An import is proposed, brought in and taken back: each step whole or not at all."""

from __future__ import annotations

import threading
from datetime import timedelta
from io import BytesIO
from threading import Event

import pytest
from django.utils import timezone

from register.exchange.demo import WORKBOOK
from register.exchange.reading import read_workbook
from register.exchange.writing import write_workbook
from register.jobs import imports
from register.jobs.beside import progress_of
from register.jobs.running import run as do
from register.loading import load_loops
from register.models import (
    Area,
    Asset,
    Calibration,
    CatalogueModel,
    Finding,
    ImportState,
    Job,
    Loop,
    Port,
    Revision,
    StockLine,
    StockMovement,
    Tag,
)
from register.plant import codec
from register.services import recording
from register.services.editing import edit_tag
from register.services.history import verify_history
from register.services.importing import TABLES
from register.services.permissions import NotAllowed
from register.services.recording import Refused
from register.services.stock import move_stock
from tests.exchange.workbooks import RIGHT, changed, workbook

pytestmark = pytest.mark.django_db


@pytest.fixture
def planner(person):
    return person("planner")


@pytest.fixture
def propose(planner):
    def propose(rows: dict | bytes = RIGHT):
        data = rows if isinstance(rows, bytes) else workbook(rows)
        return imports.propose(read_workbook(data), name="plant.xlsx", kind="workbook", data=data, by=planner)

    return propose


@pytest.fixture
def bring_in(propose, planner):
    def bring_in(rows: dict | bytes = RIGHT):
        run = propose(rows)
        imports.begin(run, by=planner)
        return done(run)

    return bring_in


def done(run):
    """The run once its job is done."""
    run.refresh_from_db()
    do(run.job_id)
    run.refresh_from_db()
    return run


def taken_back(run, by):
    imports.undo(run, by=by, reason="wrong list")
    return done(run)


def digests() -> dict[str, str]:
    return {loop.number: codec.digest(codec.encode(loop)) for loop in load_loops().values()}


def rows_of_all_tables() -> dict[str, list]:
    """Every row of every table that an import writes, loops with their revisions left out."""
    kept = {"revision", "checked_at"}
    return {
        model.__name__: sorted(
            model.objects.values_list(*(one.attname for one in model._meta.concrete_fields if one.name not in kept)),
            key=str,
        )
        for model in TABLES
    }


def test_a_proposal_says_what_it_would_do_and_does_nothing(propose):
    run = propose()
    assert run.state == ImportState.PROPOSED
    assert (run.counts["tag"], run.counts["loop"]) == ([2, 0, 0], [1, 0, 0])
    assert run.appear > 0
    assert not Loop.objects.exists()
    assert not Finding.objects.exists()


def test_the_demo_plant_comes_in_through_a_proposal_as_it_was_written(bring_in, propose):
    """Kept in the database between reading and writing, no digit and no date is lost."""
    run = bring_in(WORKBOOK.read_bytes())
    assert run.state == ImportState.IMPORTED
    written = BytesIO()
    write_workbook(written)
    assert written.getvalue() == WORKBOOK.read_bytes()
    second = propose(WORKBOOK.read_bytes())
    assert (second.added, second.changed, second.appear) == (0, 0, None)


def test_a_large_proposal_is_looked_at_in_the_background(propose, monkeypatch):
    monkeypatch.setattr(imports, "AT_ONCE", 5)
    run = propose()
    assert run.state == ImportState.EXAMINED
    assert done(run).state == ImportState.PROPOSED
    assert run.counts["tag"] == [2, 0, 0]


def test_what_was_not_agreed_to_is_not_imported(propose, planner, bring_in):
    """Somebody changes the register between the proposal and its confirmation."""
    bring_in()
    run = propose(changed("Loops", 2, Service="Steam header pressure"))
    tag = Tag.objects.get(name="PT-101")
    edit_tag(tag, {"description": "by hand"}, by=planner, seen_revision=tag.loop.revision, reason="x")
    imports.begin(run, by=planner)
    run = done(run)
    assert run.state == ImportState.PROPOSED
    assert "The register changed since this was looked at." in run.message
    assert run.counts["tag"] == [0, 1, 1]
    assert Tag.objects.get(name="PT-101").description == "by hand"


@pytest.mark.django_db(transaction=True)
def test_a_stop_leaves_nothing(propose, planner, monkeypatch):
    """It is asked for while another thread is at the last step, the record, and shows how far it is."""
    monkeypatch.setattr("register.jobs.beside.OFTEN_S", 0)
    recording_begins, asked = Event(), Event()
    record = recording.record

    def wait_and_record(*args, **kwargs):
        recording_begins.set()
        asked.wait(60)
        return record(*args, **kwargs)

    run = propose()
    monkeypatch.setattr(recording, "record", wait_and_record)
    imports.begin(run, by=planner)
    assert recording_begins.wait(60)
    run.refresh_from_db()
    done, total = progress_of(run.job)
    assert 0 < done < total
    imports.cancel(run, by=planner)
    asked.set()
    for thread in threading.enumerate():
        if thread.name.endswith("(do)"):  # of register.jobs.threads
            thread.join(60)
    run.refresh_from_db()
    assert run.state == ImportState.CANCELLED
    assert not Loop.objects.exists()
    assert not Area.objects.exists()


def test_an_import_whose_process_ended_can_be_begun_again(propose, planner):
    run = propose()
    imports.begin(run, by=planner)
    run.refresh_from_db()
    Job.objects.update(started_at=timezone.now() - timedelta(hours=1))
    imports.settle(run)
    assert (run.state, run.message) == (ImportState.PROPOSED, "It was stopped with the server. Start it again.")
    imports.begin(run, by=planner)
    assert done(run).state == ImportState.IMPORTED


def test_only_who_may_import_may_propose_begin_cancel_or_undo(propose, person):
    run = propose()
    technician = person("technician")
    for ask in (
        lambda: imports.propose(read_workbook(workbook()), name="x", kind="workbook", data=b"", by=technician),
        lambda: imports.begin(run, by=technician),
        lambda: imports.cancel(run, by=technician),
        lambda: imports.undo(run, by=technician, reason="x"),
    ):
        with pytest.raises(NotAllowed):
            ask()


# Undo


def test_an_undone_import_leaves_every_row_as_it_was(bring_in, planner):
    """It renames an area, retypes a range, takes an asset out for another, counts stock, adds a model and a tag."""
    bring_in()
    before, loops = rows_of_all_tables(), digests()
    rows = {name: [dict(row) for row in of_sheet] for name, of_sheet in RIGHT.items()}
    rows["Areas"][0]["Name"] = "Malting works"
    rows["Ports"][0]["Range to"] = "10"
    rows["Installations"][0]["To"] = "2025-01-01"
    rows["Assets"].append(RIGHT["Assets"][0] | {"Asset": "A2", "Serial number": "0018"})
    rows["Installations"].append({"Asset": "A2", "Tag": "PIC-101", "From": "2025-01-01"})
    rows["Bays"][0]["Takes"] = None
    rows["Stock"][0]["Quantity"] = 7
    rows["Models"].append({"Maker": "Fennel Row", "Model": "Regent 48", "Kind": "controller"})
    rows["Tags"].append({"Tag": "PV-101", "Loop": "P-101", "Role": "final element"})
    run = bring_in(rows)
    assert run.state == ImportState.IMPORTED, run.message
    assert rows_of_all_tables() != before

    run = taken_back(run, planner)

    assert run.state == ImportState.UNDONE, run.message
    assert rows_of_all_tables() == before
    assert digests() == loops
    latest = Revision.objects.get(loop__number="P-101", number=3)
    assert latest.reason.endswith("undone: wrong list")
    assert verify_history().faults == []
    assert StockMovement.objects.first().change == -(7 - StockLine.objects.get().quantity)


def test_a_loop_that_an_undone_import_added_is_retired_and_keeps_its_revisions(bring_in, planner):
    run = taken_back(bring_in(), planner)
    assert run.state == ImportState.UNDONE, run.message
    loop = Loop.objects.get(number="P-101")
    assert loop.retired_on == timezone.localdate()
    assert list(loop.revisions.values_list("number", flat=True)) == [2, 1]
    assert not Finding.objects.open().exists()
    assert set(Area.objects.values_list("code", flat=True)) == {"W", "BH"}  # the retired loop lies there
    for model in (Tag, Port, Asset, CatalogueModel, Calibration, StockLine):
        assert not model.objects.exists(), model
    assert verify_history().faults == []


def test_what_was_undone_can_be_imported_again(bring_in, planner):
    loops_of = bring_in()
    first = digests()
    taken_back(loops_of, planner)
    assert bring_in().state == ImportState.IMPORTED
    assert digests() == first
    assert verify_history().faults == []


def test_what_was_recorded_of_rows_that_are_gone_is_kept_with_the_import(bring_in, planner):
    run = taken_back(bring_in(), planner)
    (part,) = run.parts.filter(holds="removed")
    assert part.size > 0
    assert not StockMovement.objects.exists()


@pytest.mark.parametrize("what", ["tag", "stock", "row"])
def test_an_import_is_not_undone_once_something_that_it_touched_has_changed(what, bring_in, planner):
    run = bring_in()
    tag = Tag.objects.get(name="PT-101")
    if what == "tag":
        edit_tag(tag, {"description": "by hand"}, by=planner, seen_revision=tag.loop.revision, reason="x")
    elif what == "stock":
        move_stock(StockLine.objects.get(), "receipt", 1, on=timezone.localdate(), by=planner, reason="x")
    else:
        Asset.objects.filter(code="A1").update(remarks="scratched")
    rows = rows_of_all_tables()
    run = taken_back(run, planner)
    named = {"tag": "P-101 (planner)", "stock": "Regent 96 in Shelf 3 (planner)", "row": "asset A1"}[what]
    assert run.state == ImportState.IMPORTED
    assert "changed since. An import can be undone only while all that it touched stands" in run.message
    assert named in run.message
    assert rows_of_all_tables() == rows
    assert run.undone_by is None


def test_an_import_is_undone_once(bring_in, planner):
    run = taken_back(bring_in(), planner)
    with pytest.raises(Refused, match="This import is undone"):
        imports.undo(run, by=planner, reason="again")
