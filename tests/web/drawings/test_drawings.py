"""A P&ID at the screen: sent, held against the register, brought in by the dry run."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from register.jobs import imports
from register.jobs.running import run as run_job
from register.models import DrawingReading, ImportRun, Job, Loop, Tag
from tests import factories
from tests.exchange.dexpi import drawings
from tests.exchange.dexpi.drawings import LEVEL, PLANT, TANK

pytestmark = pytest.mark.django_db

LIST = reverse("drawings:list")


def send(client, data: bytes, name: str = "C01.xml"):
    return client.post(LIST, {"drawing": SimpleUploadedFile(name, data)}, follow=True)


def page_of(client) -> tuple[str, str]:
    """The page of the latest reading, and its address."""
    address = reverse("drawings:detail", args=[DrawingReading.objects.first().pk])
    return client.get(address).content.decode(), address


@pytest.fixture
def bring_in(signed_in, person):
    def bring_in(data: bytes, **typed) -> ImportRun:
        client = signed_in("planner")
        send(client, data)
        answer = client.post(page_of(client)[1], typed)
        run = ImportRun.objects.first()
        assert answer.url == reverse("exchange:run", args=[run.pk])
        if run.state == "proposed":
            imports.begin(run, by=person("planner"))
            run_job(Job.objects.latest("pk").pk)
            run.refresh_from_db()
        return run

    return bring_in


def test_a_drawing_is_shown_against_the_register_and_brought_in_by_its_dry_run(bring_in, signed_in):
    run = bring_in(PLANT)
    assert (run.state, run.name, run.kind) == ("imported", "123/A93 sheet 2a, R2.2", "drawing")
    assert run.sha256 == "a2b172f04e0dcf9a668e158c6dee3b5fd0dd4e9027b572dc39e54470562b809c"  # as published with it
    assert (Loop.objects.count(), Tag.objects.count()) == (4, 10)
    assert "Drawing and register say the same." in page_of(signed_in("auditor"))[0]
    send(signed_in("planner"), PLANT, "again.xml")
    assert DrawingReading.objects.get().file_name == "again.xml"
    again = bring_in(PLANT)
    assert (again.added, again.changed) == (0, 0)


def test_a_newer_revision_shows_the_three_and_changes_what_was_ticked_alone(bring_in, signed_in):
    bring_in(PLANT)
    newer = drawings.attribute(PLANT, "MetaData-1", "RevisionNumberAssignmentClass", "R2.3")
    newer = drawings.attribute(newer, "ControlledActuator-1", "FailActionSpecialization", "FailOpen")
    newer = drawings.attribute(newer, "ControlledActuator-2", "FailActionSpecialization", "FailOpen")
    newer = drawings.without(newer, "ProcessInstrumentationFunction-1", "InstrumentationLoopFunction-1")
    send(signed_in("planner"), newer, "newer.xml")
    page, address = page_of(signed_in("auditor"))
    for text in ("Contradicted", "PV4712.02", "Gone from the drawing", "PT4712.01", "R2.2"):
        assert text in page
    assert 'name="take"' not in page
    assert signed_in("technician").post(address).status_code == 403
    key = "on loss of signal or power: PV4712.02"
    assert f'value="{key}"' in page_of(signed_in("planner"))[0]
    bring_in(newer, take=key)
    assert dict(Tag.objects.filter(role="final element").values_list("name", "fail_position")) == {
        "PV4712.02": "open",
        "HV4750.01": "closed",
        "TV4750.03": "open",
    }
    assert Tag.objects.filter(name="PT4712.01", retired_on=None).exists()


def test_a_tag_that_moved_to_another_drawing_is_told(bring_in, signed_in):
    bring_in(PLANT)
    other = drawings.attribute(PLANT, "MetaData-1", "DrawingNumberAssignmentClass", "124")
    send(signed_in("planner"), other)
    newer = drawings.without(PLANT, "ProcessInstrumentationFunction-1", "InstrumentationLoopFunction-1")
    send(signed_in("planner"), newer)
    assert page_of(signed_in("planner"))[0].count("on drawing 124 sheet 2a") == 2


def test_new_loops_go_where_the_planner_says(bring_in, signed_in):
    area = factories.area("Works / Effluent")
    client = signed_in("planner")
    send(client, LEVEL)
    answer = client.post(page_of(client)[1], {"area": ""})
    assert (answer.status_code, "This field is required." in answer.content.decode()) == (200, True)
    bring_in(LEVEL, area=area.code)
    assert Loop.objects.get().area == area


def test_what_was_ticked_before_the_register_changed_is_refused(bring_in, signed_in):
    bring_in(PLANT)
    client = signed_in("planner")
    answer = client.post(page_of(client)[1], {"take": "role: PV4712.02"})
    assert "The register has changed meanwhile. Look at the drawing again." in answer.content.decode()
    assert ImportRun.objects.count() == 1


def test_a_drawing_with_faults_is_shown_and_cannot_go_on(signed_in):
    number = "ProcessSignalGeneratingFunctionNumberAssignmentClass"
    client = signed_in("planner")
    send(client, drawings.attribute(PLANT, "ProcessSignalGeneratingFunction-1", number, "PT4712.02"))
    page, address = page_of(client)
    assert "stands on the drawing twice" in page
    assert "Show what it would do" not in page
    client.post(address)
    assert ImportRun.objects.get().state == "refused"


def test_a_file_that_is_no_drawing_is_refused_with_the_remedy_and_nothing_is_kept(signed_in):
    client = signed_in("planner")
    for data, says in ((b"", "The file is empty"), (b"<svg/>", "holds “svg”"), (b"PK\x03\x04", "not XML")):
        answer = send(client, data)
        assert (answer.status_code, says in answer.content.decode()) == (200, True)
    assert not DrawingReading.objects.exists()


def test_a_drawing_without_instruments_says_so(signed_in):
    page = send(signed_in("planner"), TANK).content.decode()
    assert "The drawing holds no instrument functions." in page
    assert "Show what it would do" not in page


def test_an_older_reading_says_that_it_was_overtaken(signed_in):
    client = signed_in("planner")
    send(client, PLANT)
    first = DrawingReading.objects.get()
    send(client, drawings.attribute(PLANT, "MetaData-1", "RevisionNumberAssignmentClass", "R2.3"))
    assert DrawingReading.objects.first().read_at > first.read_at
    page = client.get(reverse("drawings:detail", args=[first.pk])).content.decode()
    assert "This is no longer the latest reading" in page
    assert f"{timezone.localdate():%Y}" in page
