import pytest
from django.urls import reverse

from register.models import Loop
from register.services.editing import edit_loop
from register.services.issuing import approve_issue, check_issue, draft_issue
from tests import factories

LIST = reverse("issuing:list")


def changed(loop: Loop, person) -> None:
    loop.refresh_from_db()
    edit_loop(loop, {"service": "Other"}, by=person("planner"), seen_revision=loop.revision, reason="Renamed")


@pytest.fixture
def loops(person) -> list[Loop]:
    """P-102 is settled, T-101 changed since, T-103 drafted, P-104 checked, T-105 overtaken, P-106 was never issued."""
    made = {loop.number: loop for loop in factories.many_loops(6, by=person("planner"))}
    technician, planner, administrator = map(person, ("technician", "planner", "administrator"))
    for number in ("P-102", "T-101", "T-103", "P-104", "T-105"):
        issue = draft_issue(made[number], by=technician)
        if number in ("P-102", "T-101", "P-104"):
            check_issue(issue, by=planner)
        if number in ("P-102", "T-101"):
            approve_issue(issue, by=administrator, render=lambda issue: b"%PDF")
        if number in ("T-101", "T-105"):
            changed(made[number], person)
    return list(made.values())


def rows(client, **asked) -> dict[str, tuple[str, str]]:
    table = client.get(LIST, asked).context["table"]
    return {row.get_cell_value("number"): (row.get_cell("standing"), row.get_cell("turn")) for row in table.rows}


def test_every_sheet_that_waits_says_how_far_it_is_and_what_is_next(loops, signed_in):
    assert rows(signed_in("auditor")) == {
        "P-104": ("checked by planner", "to be approved, best not by technician or planner"),
        "P-106": ("never issued", "to be drafted"),
        "T-101": ("changed since issue 1, which shows revision 1", "to be drafted"),
        "T-103": ("drafted by technician", "to be checked, best not by technician"),
        "T-105": ("drafted by technician as revision 1, overtaken by a change", "to be drafted"),
    }


def test_whoever_checks_finds_what_is_to_be_checked(loops, signed_in):
    client = signed_in("planner")
    assert list(rows(client, turn="check")) == ["T-103"]
    assert list(rows(client, turn="approve", area=loops[3].area_id)) == ["P-104"]


def test_a_retired_loop_waits_for_nothing(loops, signed_in):
    Loop.objects.filter(number="P-106").update(retired_on="2025-01-01")
    assert "P-106" not in rows(signed_in("auditor"))


def test_the_list_takes_the_same_queries_for_any_number(loops, person, signed_in, django_assert_num_queries):
    """Two for the person, the areas to choose from, the count, the loops, their issues, the plant's name."""
    client = signed_in("auditor")
    with django_assert_num_queries(7):
        client.get(LIST)
    factories.many_loops(6, by=person("planner"), first=40)
    with django_assert_num_queries(7):
        client.get(LIST)
