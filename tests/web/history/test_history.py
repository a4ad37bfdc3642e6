import pytest
from django.urls import reverse

from register.models import Finding, Loop
from register.plant import sketch
from register.services.editing import change_settings, edit_loop
from tests import factories

LIST = reverse("history:list", args=["T-101"])


@pytest.fixture
def loop(person) -> Loop:
    """Recorded on 5 March 2024; its set point moved out of its limits, then its service was renamed."""
    planner = person("planner")
    loop = factories.loop(sketch.temperature_loop("101"), by=planner)
    change_settings(
        loop.tags.get(name="TIC-101"),
        {"set_point_high": 250},
        by=planner,
        seen_revision=1,
        reason="Try a hotter tank",
        work_order="WO-77",
    )
    loop.refresh_from_db()
    edit_loop(loop, {"service": "Steep water"}, by=planner, seen_revision=2, reason="Renamed")
    loop.refresh_from_db()
    return loop


def test_the_list_says_who_when_why_and_what(loop, signed_in):
    page = signed_in("auditor").get(LIST)
    numbers = [row.record.number for row in page.context["table"].rows]
    assert numbers == [3, 2, 1]
    text = page.content.decode()
    for said in (
        "planner",
        "Try a hotter tank",
        "WO-77",
        "TIC-101 settings: set point high 180 → 250",
        "service Hot water temperature → Steep water",
        "first recorded",
    ):
        assert said in text


def test_a_revision_opens_as_the_loop_stood(loop, signed_in):
    page = signed_in("auditor").get(reverse("history:detail", args=["T-101", 2])).content.decode()
    assert "Hot water temperature" in page
    assert "Steep water" not in page
    assert "250" in page
    assert "This is the past: the loop is now at revision 3." in page


def test_a_revision_shows_the_findings_that_were_open_then(loop, person, signed_in):
    change_settings(
        loop.tags.get(name="TIC-101"), {"set_point_high": 180}, by=person("planner"), seen_revision=3, reason="Back"
    )
    assert Finding.objects.get(rule="set-point-limits-outside-range").cleared_revision == 4

    def rules(revision: int) -> list[str]:
        page = signed_in("auditor").get(reverse("history:detail", args=["T-101", revision]))
        return [finding.rule for finding in page.context["findings"]]

    assert rules(1) == []
    assert rules(2) == rules(3) == ["set-point-limits-outside-range"]
    assert rules(4) == []


def test_nothing_on_an_old_revision_offers_to_change_it(loop, signed_in):
    page = signed_in("planner").get(reverse("history:detail", args=["T-101", 1])).content.decode()
    for action in ("Take out", "Fit a board", "/ports/", "/change/"):
        assert action not in page


def test_two_revisions_stand_beside_each_other(loop, signed_in):
    page = signed_in("auditor").get(reverse("history:compare", args=["T-101"]), {"old": 1, "new": 3})
    rows = [row.record for row in page.context["table"].rows]
    assert [(row.where, row.what, row.old, row.new) for row in rows] == [
        ("", "service", "Hot water temperature", "Steep water"),
        ("TIC-101 settings", "set point high", "180", "250"),
    ]


def test_comparing_the_other_way_round_shows_the_way_back(loop, signed_in):
    page = signed_in("auditor").get(reverse("history:compare", args=["T-101"]), {"old": 3, "new": 2})
    rows = [row.record for row in page.context["table"].rows]
    assert [(row.what, row.old, row.new) for row in rows] == [("service", "Steep water", "Hot water temperature")]


@pytest.mark.parametrize(
    ("query", "complaint"),
    [
        ({"old": 1, "new": 9}, "T-101 has no revision 9. Its latest is 3."),
        ({"old": 0, "new": 1}, "greater than or equal to 1"),
        ({"old": "x", "new": 1}, "whole number"),
        ({}, "required"),
    ],
)
def test_a_revision_that_is_not_there_is_told(loop, signed_in, query, complaint):
    page = signed_in("auditor").get(reverse("history:compare", args=["T-101"]), query)
    assert page.status_code == 200
    assert complaint in page.content.decode()


@pytest.mark.parametrize(
    ("day", "lands_on"), [("2024-03-05", 1), ("2024-05-01", 1), ("2024-03-04", None), ("2999-01-01", 3)]
)
def test_a_day_leads_to_the_revision_that_stood_at_its_end(loop, signed_in, day, lands_on):
    response = signed_in("auditor").get(reverse("history:on", args=["T-101"]), {"day": day})
    expected = reverse("history:detail", args=["T-101", lands_on]) if lands_on else LIST
    assert response.headers["Location"] == expected


def test_a_day_that_is_none_is_told(loop, signed_in):
    page = signed_in("auditor").get(reverse("history:on", args=["T-101"]), {"day": "soon"}, follow=True)
    assert "Give the day as a date, such as 2026-03-01." in page.content.decode()


def test_two_revisions_stand_beside_each_other_with_what_differs_marked(loop, signed_in):
    """The mark of a change is a white delta on black, as drawings mark a revision (common practice, no source)."""
    delta = 'd="M5.5 1.6L8.9 7.4H2.1Z"'
    compare = reverse("history:compare", args=["T-101"])
    client = signed_in("auditor")

    drawn = [str(one) for _revision, one in client.get(compare, {"old": 1, "new": 3}).context["drawn"]]
    assert len(drawn) == 2
    assert all(delta in one and ">changed" in one for one in drawn)
    alike = [str(one) for _revision, one in client.get(compare, {"old": 3, "new": 3}).context["drawn"]]
    assert not any(delta in one for one in alike)


@pytest.mark.parametrize("page", ["list", "compare", "on"])
def test_a_loop_that_is_not_there_is_not_found(db, signed_in, page):
    assert signed_in("auditor").get(reverse(f"history:{page}", args=["T-999"])).status_code == 404


def test_queries_do_not_grow_with_the_revisions(loop, person, signed_in, django_assert_num_queries):
    client = signed_in("auditor")
    with django_assert_num_queries(6):
        client.get(LIST)
    for number in range(3, 12):
        loop.refresh_from_db()
        edit_loop(loop, {"remarks": f"Remark {number}"}, by=person("planner"), seen_revision=number, reason="Noted")
    with django_assert_num_queries(6):
        client.get(LIST)
