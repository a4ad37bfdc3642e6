"""Pages by key against slices of the same rows in order."""

from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.models import Loop, Tag
from register.web.workbench.paging import page_of
from tests import factories

pytestmark = pytest.mark.django_db
SIZE = 4


@pytest.fixture
def plant(db):
    factories.many_loops(9)
    Loop.objects.filter(number__in=["T-101", "P-104", "T-105"]).update(target_sil=2, open_errors=1)
    Loop.objects.filter(number="P-106").update(target_sil=1, checked_at=datetime(2026, 3, 4, tzinfo=UTC))


def walked(rows, order, key, way: str) -> list[list[str]]:
    """The names on every page, from the beginning by "after" or from the end by "before"."""
    pages, place = [], {"last": "1"} if way == "before" else {}
    while True:
        page = page_of(rows, rows.all(), order, key, place, SIZE)
        pages.append([getattr(row, key) for row in page.rows])
        more = page.has_previous if way == "before" else page.has_next
        if not more:
            return pages
        place = {way: page.first if way == "before" else page.last}


@pytest.mark.parametrize(
    "order",
    [
        (),
        ("number",),
        ("-number",),
        ("area__path",),
        ("-area__path",),
        ("criticality",),
        ("-open_errors", "-open_warnings"),
        ("open_errors", "open_warnings"),
        ("target_sil",),
        ("-target_sil",),
        ("checked_at",),
        ("-checked_at",),
    ],
)
def test_pages_from_either_end_hold_every_row_once_in_order(plant, order):
    rows = Loop.objects.in_service()
    forwards = walked(rows, order, "number", "after")
    backwards = walked(rows, order, "number", "before")
    names = [name for page in forwards for name in page]

    assert [len(page) for page in forwards] == [4, 4, 1]
    assert sorted(names) == sorted(loop.number for loop in rows)
    assert [name for page in reversed(backwards) for name in page] == names


def test_what_is_empty_comes_last_and_ties_are_settled_by_name(plant):
    rows = Loop.objects.in_service()
    assert walked(rows, ("target_sil",), "number", "after")[0] == ["P-106", "P-104", "T-101", "T-105"]


def test_a_column_that_the_query_adds_orders_too(plant):
    Tag.objects.get(name="TE-101").installations.all().delete()
    names = [
        name for page in walked(Tag.objects.with_installed(), ("installed_serial",), "name", "after") for name in page
    ]
    assert len(names) == 27
    assert names[0] == "TIC-101"
    assert names[-1] == "TE-101"


def test_a_page_goes_on_from_a_row_that_left_the_list(plant):
    rows = Loop.objects.exclude(number="T-103")
    page = page_of(rows, Loop.objects.all(), (), "number", {"after": "T-103"}, SIZE)
    assert [row.number for row in page.rows] == ["T-105", "T-107", "T-109"]
    assert page.has_previous
    assert not page.has_next


def test_after_a_row_that_nobody_knows_comes_the_first_page(plant):
    page = page_of(Loop.objects.all(), Loop.objects.all(), (), "number", {"after": "no such loop"}, SIZE)
    assert page.rows[0].number == "P-102"
    assert not page.has_previous


def test_a_page_costs_two_queries_wherever_it_lies(plant):
    with CaptureQueriesContext(connection) as first:
        page_of(Loop.objects.all(), Loop.objects.all(), ("area__path",), "number", {}, SIZE)
    with CaptureQueriesContext(connection) as deep:
        page_of(Loop.objects.all(), Loop.objects.all(), ("area__path",), "number", {"after": "T-107"}, SIZE)
    assert (len(first), len(deep)) == (1, 2)
    assert "OFFSET" not in deep[1]["sql"]
