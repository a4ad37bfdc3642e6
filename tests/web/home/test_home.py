"""Each role finds on the first page what it comes for."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from register.models import Finding, SwapDraft, Tag
from register.plant import sketch
from register.plant.words import Severity
from register.services.checking import recheck
from register.web.recent import COOKIE, KEPT
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def faulty(person):
    """A loop with one warning: its upper set-point limit is out of its range."""
    loop = sketch.with_settings(
        sketch.temperature_loop(range_="0-400 degC"), "TIC-101", set_point_high=sketch.number(450)
    )
    return factories.loop(loop, by=person("planner"))


def test_a_planner_sees_what_is_wrong_what_falls_due_and_what_changed(faulty, signed_in):
    Tag.objects.filter(name="TE-101").update(calibration_interval_months=12)
    recheck([faulty.pk], at=timezone.now())
    page = signed_in("planner").get("/")

    assert page.context["counts"] == {Severity.ERROR: 0, Severity.WARNING: 1, Severity.ADVICE: 0}
    assert (page.context["overdue"], page.context["soon"]) == (1, 0)
    assert [str(one.loop) for one in page.context["changes"]] == ["T-101"]
    assert 'href="/findings/?severity=warning"' in page.content.decode()


def test_a_technician_sees_swaps_not_finished_and_the_tags_opened_last(faulty, person, signed_in):
    SwapDraft.objects.create(by=person("technician"), tag=Tag.objects.get(name="TIC-101"), seen_revision=1)
    SwapDraft.objects.create(by=person("planner"), tag=Tag.objects.get(name="TE-101"), seen_revision=1)
    client = signed_in("technician")
    for address in ("/panel/TE-101/", "/tags/TV-101/", "/panel/TE-101/", "/panel/NO-101/"):
        client.get(address)
    page = client.get("/")

    assert [one.tag.name for one in page.context["drafts"]] == ["TIC-101"]
    assert [one.name for one in page.context["recent"]] == ["TE-101", "TV-101"]


def test_the_cookie_of_tags_keeps_the_last_few_and_takes_nonsense(faulty, signed_in):
    client = signed_in("technician")
    client.cookies[COOKIE] = " ".join(["%2F", "a%20b"] * 50)
    assert list(client.get("/").context["recent"]) == []
    client.get("/panel/TE-101/")
    assert len(client.cookies[COOKIE].value.split(" ")) == KEPT
    assert [one.name for one in client.get("/").context["recent"]] == ["TE-101"]


def test_an_auditor_is_asked_for_the_day_and_the_part_of_the_plant(faulty, signed_in):
    page = signed_in("auditor").get("/")
    assert 'action="/audit/"' in page.content.decode()
    assert page.context["concessions"] == 0


def test_the_weeks_are_reckoned_back_from_what_is_open_now(faulty):
    """By hand: one open since before all weeks, one come in the third, one come in the first and gone in the third."""
    until = datetime(2026, 6, 29, tzinfo=UTC)
    facts = {"loop": faulty, "subject": "T-101", "severity": Severity.ERROR, "first_revision": 1}
    for rule, came_days_ago, went_days_ago in (("a", 100, None), ("b", 3, None), ("c", 20, 5), ("d", 90, 80)):
        Finding.objects.create(
            rule=rule,
            first_seen=until - timedelta(days=came_days_ago),
            cleared_at=went_days_ago and until - timedelta(days=went_days_ago),
            **facts,
        )
    found = Finding.objects.filter(severity=Severity.ERROR).open_each_week(until, 4)
    assert [moment.day for moment, _counts in found] == [8, 15, 22, 29]
    assert [counts[Severity.ERROR] for _moment, counts in found] == [1, 2, 2, 2]


@pytest.mark.parametrize(("role", "queries"), [("planner", 14), ("technician", 6), ("auditor", 8)])
def test_more_loops_cost_no_more_queries(role, queries, person, signed_in, django_assert_max_num_queries):
    client = signed_in(role)
    factories.many_loops(12, by=person("planner"), first=20)
    with django_assert_max_num_queries(queries):
        client.get("/")
