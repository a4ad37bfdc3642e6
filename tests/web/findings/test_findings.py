from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from register.jobs.running import run
from register.models import Concession, Finding, Job
from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant(person):
    planner = person("planner")
    for number, area in (("101", "Works / Kiln 1"), ("102", "Works / Kiln 1"), ("103", "Works / Effluent")):
        loop = sketch.with_alarm(
            sketch.temperature_loop(number), f"TIC-{number}", "Alarm 1", set_point=sketch.number(900)
        )
        factories.loop(loop, by=planner, area=area)
    factories.loop(sketch.with_boards(sketch.temperature_loop("104"), "TIC-104", bay_1=None), by=planner)


def rows(client, **query):
    return json.loads(client.get("/findings/", query | {"download": "json"}).getvalue())["rows"]


def test_errors_come_first_and_each_area_has_its_count(plant, signed_in):
    page = signed_in("auditor").get("/findings/").content.decode()

    assert page.index("output-without-board") < page.index("TIC-101")
    assert "Works / Kiln 1</th>" in page
    assert "chart-bar" in page


def test_findings_are_narrowed_by_rule_severity_area_age_and_standing(plant, signed_in):
    client = signed_in("auditor")
    effluent = factories.area("Works / Effluent").pk

    assert len(rows(client)) == 4
    assert [row["subject"] for row in rows(client, rule="output-without-board")] == ["TIC-104"]
    assert [row["subject"] for row in rows(client, severity="warning", area=effluent)] == ["TIC-103"]
    assert rows(client, standing="cleared") == []
    Finding.objects.update(first_seen=timezone.now())
    assert rows(client, older_than="30") == []
    Finding.objects.filter(subject="TIC-101").update(first_seen=timezone.now() - timedelta(days=40))
    assert [row["subject"] for row in rows(client, older_than="30")] == ["TIC-101"]


def test_the_list_as_a_file_holds_what_is_wrong_and_how_to_put_it_right(plant, signed_in):
    (row,) = rows(signed_in("auditor"), rule="output-without-board")

    assert row["severity"] == "error"
    assert "needs a board in bay 1, which is empty" in row["text"]
    assert "fit a board that makes the signal in that bay" in row["remedy"]


def test_a_concession_is_granted_from_the_page_and_sets_the_finding_aside(plant, signed_in):
    finding = Finding.objects.get(subject="TIC-103")
    tomorrow = timezone.localdate() + timedelta(days=1)
    typed = {"until": tomorrow.isoformat(), "reference": "RA-17", "reason": "Until the shutdown", "seen_revision": 1}

    signed_in("planner").post(f"/findings/{finding.pk}/concede/", typed)

    assert Concession.objects.get().reason == "Until the shutdown"
    page = signed_in("auditor").get("/loops/T-103/").content.decode()
    assert "Set aside until" in page
    assert len(rows(signed_in("auditor"), standing="conceded")) == 1


def test_the_whole_plant_is_checked_from_the_page_with_progress(plant, person, signed_in):
    client = signed_in("planner")
    Finding.objects.all().delete()

    assert client.post("/findings/check/").url == "/findings/check/"
    job = Job.objects.get()
    run(job.pk)

    assert "4 of 4 loops" in client.get("/findings/check/").content.decode()
    assert Finding.objects.open().count() == 4
    assert signed_in("technician").post("/findings/check/").status_code == 403


def test_the_number_of_queries_does_not_grow_with_the_findings(plant, person, signed_in):
    client = signed_in("auditor")
    with CaptureQueriesContext(connection) as few:
        client.get("/findings/")
    for place in range(6):
        loop = sketch.with_boards(sketch.temperature_loop(f"13{place}"), f"TIC-13{place}", bay_1=None)
        factories.loop(loop, by=person("planner"))
    with CaptureQueriesContext(connection) as many:
        client.get("/findings/")

    assert len(many) == len(few)
