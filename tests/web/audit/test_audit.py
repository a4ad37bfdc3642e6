import io
import json
from datetime import UTC, datetime, timedelta

import openpyxl
import pytest
from django.urls import reverse
from django.utils import timezone

from register.models import Concession, Finding, Loop
from register.plant import sketch
from register.services.concessions import grant_concession
from register.services.editing import change_settings
from tests import factories

PAGE = reverse("audit:page")


def rows(client, answer: str, **scope: object) -> list[dict]:
    return json.loads(client.get(reverse("audit:json", args=[answer]), scope).getvalue())["rows"]


@pytest.fixture
def loop(person) -> Loop:
    """T-101, recorded on 5 March 2024; today its set-point limit left its range, and that was conceded."""
    planner = person("planner")
    factories.many_loops(2, by=planner, first=40)
    loop = factories.loop(sketch.temperature_loop("101"), by=planner)
    tag = loop.tags.get(name="TIC-101")
    change_settings(tag, {"set_point_high": 250}, by=planner, seen_revision=1, reason="Hotter", work_order="WO 7")
    loop.refresh_from_db()
    grant_concession(
        Finding.objects.get(rule="set-point-limits-outside-range"),
        reason="Trial",
        until=timezone.localdate() + timedelta(days=9),
        reference="CN 12",
        by=planner,
        seen_revision=2,
    )
    return loop


def test_sheets_are_told_as_they_stood_on_the_day(loop, signed_in):
    client = signed_in("auditor")
    now = {one["Loop"]: one["Revision"] for one in rows(client, "sheets")}
    assert now == {"P-141": 1, "T-101": 2, "T-140": 1}
    then = {one["Loop"]: one["Revision"] for one in rows(client, "sheets", day="2024-03-05", since="2024-01-01")}
    assert then == {"P-141": 1, "T-101": 1, "T-140": 1}
    assert rows(client, "sheets", day="2024-03-04", since="2024-01-01") == []


def test_changes_in_the_period_say_who_when_and_why(loop, signed_in):
    (change,) = rows(signed_in("auditor"), "changes")
    assert (change["Loop"], change["Who"], change["Why"], change["Work order"]) == (
        "T-101",
        "planner",
        "Hotter",
        "WO 7",
    )
    assert "set point high 180 → 250" in change["What changed"]
    assert change["When"].startswith(timezone.localdate().isoformat())
    assert len(rows(signed_in("auditor"), "changes", since="2024-03-05")) == 4


def test_findings_open_on_the_day_come_with_the_concession_that_held(loop, signed_in):
    client = signed_in("auditor")
    rule = "set-point-limits-outside-range"
    (found,) = [one for one in rows(client, "findings") if one["Rule"] == rule]
    until = timezone.localdate() + timedelta(days=9)
    assert found["Concession"] == f"until {until}, planner: Trial (CN 12)"
    then = rows(client, "findings", day="2024-03-31", since="2024-01-01")
    assert rule not in {one["Rule"] for one in then}


def test_a_concession_that_ended_later_is_still_told_of_the_day(loop, signed_in):
    yesterday = timezone.now() - timedelta(days=1)
    Finding.objects.update(first_seen=yesterday - timedelta(days=5))
    Concession.objects.update(at=yesterday - timedelta(days=5), ended_at=timezone.now(), ended_because="withdrawn: x")
    (then,) = [
        one for one in rows(signed_in("auditor"), "findings", day=yesterday.date()) if "CN 12" in one["Concession"]
    ]
    assert then["Loop"] == "T-101"
    assert not [one for one in rows(signed_in("auditor"), "findings") if one["Concession"]]


def test_an_area_narrows_all_three(loop, signed_in):
    kiln = factories.area("Works / Kiln 1").pk
    client = signed_in("auditor")
    assert [one["Loop"] for one in rows(client, "sheets", area=kiln)] == ["P-141"]
    assert [one["Loop"] for one in rows(client, "changes", area=kiln, since="2024-01-01")] == ["P-141"]
    assert {one["Loop"] for one in rows(client, "findings", area=kiln)} <= {"P-141"}


@pytest.mark.parametrize("answer", ["sheets", "changes", "findings"])
def test_each_answer_is_taken_along_as_a_file(loop, signed_in, pdf_text, answer):
    client = signed_in("auditor")
    told = rows(client, answer)
    printed = client.get(reverse("audit:pdf", args=[answer]))
    assert "T-101" in pdf_text(printed.getvalue())
    workbook = openpyxl.load_workbook(io.BytesIO(client.get(reverse("audit:xlsx", args=[answer])).getvalue()))
    table = list(workbook.active.iter_rows(min_row=5, values_only=True))
    assert [row[0] for row in table] == [one["Loop"] for one in told]


def test_the_page_shows_the_three_and_leads_to_the_sheets_of_the_day(loop, signed_in):
    page = signed_in("auditor").get(PAGE, {"day": "2024-03-05", "since": "2024-03-01"}).content.decode()
    assert "/loops/T-101/sheet.pdf?on=2024-03-05" in page
    assert "Changes from 2024-03-01 to 2024-03-05" in page
    assert f"{reverse('packs:ask')}?as_on=2024-03-05" in page


def test_a_period_that_ends_before_it_begins_is_told(loop, signed_in):
    page = signed_in("auditor").get(PAGE, {"day": "2024-03-05", "since": "2024-03-06"})
    assert page.status_code == 200
    assert "The period begins after the day." in page.content.decode()
    refused = signed_in("auditor").get(reverse("audit:pdf", args=["sheets"]), {"day": "soon"})
    assert (refused.status_code, "valid date" in refused.content.decode()) == (400, True)


def test_an_answer_that_there_is_not_is_not_found(db, signed_in):
    assert signed_in("auditor").get("/audit/everything.pdf").status_code == 404


def test_the_last_moment_of_the_day_still_counts(loop, signed_in):
    loop.revisions.filter(number=2).update(at=datetime(2024, 3, 31, 23, 59, 59, 999_000, tzinfo=UTC))
    then = rows(signed_in("auditor"), "sheets", day="2024-03-31", since="2024-03-01")
    assert {one["Loop"]: one["Revision"] for one in then}["T-101"] == 2


def test_queries_do_not_grow_with_the_plant(loop, person, signed_in, django_assert_num_queries):
    """Two for the person, the areas, two for each answer, the plant's name."""
    client = signed_in("auditor")
    with django_assert_num_queries(10):
        client.get(PAGE)
    factories.many_loops(6, by=person("planner"), first=60)
    with django_assert_num_queries(10):
        client.get(PAGE)
