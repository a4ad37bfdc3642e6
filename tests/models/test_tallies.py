"""The kept counts against counting the rows, after every way in which rows come, change and go."""

from datetime import date

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.models import Count

from register.models import Loop, LoopTally, Tag, TagTally
from register.models.tallies import compact, worst_finding
from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant(db):
    factories.many_loops(6)


def assert_right():
    loops = Loop.objects.in_service().order_by().values_list("area", "kind", "criticality", worst_finding())
    tags = Tag.objects.in_service().order_by().values_list("loop__area", "role", "location")
    counted = {tuple(sort): rows for *sort, rows in loops.annotate(rows=Count("pk"))}
    assert LoopTally.objects.counted_by("area", "kind", "criticality", "worst") == counted
    counted = {tuple(sort): rows for *sort, rows in tags.annotate(rows=Count("pk"))}
    assert TagTally.objects.counted_by("area", "role", "location") == counted


def test_rows_that_come_are_counted(plant):
    assert sum(LoopTally.objects.counted_by("kind").values()) == 6
    assert_right()


def test_loops_that_change_their_sort_are_counted_anew(plant):
    Loop.objects.filter(number="T-101").update(kind="trip", criticality="safety", open_warnings=3)
    Loop.objects.filter(number="T-103").update(open_unknowns=1, service="Another")
    assert LoopTally.objects.counted_by("worst") == {("warning",): 1, ("unknown",): 1, ("none",): 4}
    assert_right()


def test_a_loop_that_moves_to_another_area_takes_its_tags_along(plant):
    there = factories.area("Works / Malt store")
    Loop.objects.filter(number="T-101").update(area=there)
    assert sum(TagTally.objects.filter(area=there).counted_by("role").values()) == 3
    assert_right()


def test_what_is_retired_and_what_is_deleted_counts_no_longer(plant):
    Tag.objects.filter(loop__number="T-101").update(retired_on=date(2026, 3, 1))
    Loop.objects.filter(number="T-101").update(retired_on=date(2026, 3, 1))
    Loop.objects.filter(number="T-101").update(kind="trip", area=factories.area("Works / Malt store"))
    loop = factories.loop(sketch.temperature_loop("301"))
    Tag.objects.create(loop=loop, name="XI-301", role="indicator").delete()
    Loop.objects.create(number="X-9", area=loop.area).delete()
    assert sum(LoopTally.objects.counted_by("kind").values()) == 6
    assert_right()


def test_a_tag_that_moves_to_another_loop_counts_there(plant):
    Tag.objects.filter(name="TE-101").update(loop=Loop.objects.get(number="P-102"), location="rack")
    assert_right()


def test_summing_up_changes_no_count(plant):
    Loop.objects.update(criticality="safety")
    before = LoopTally.objects.counted_by("area", "worst")
    compact()
    assert LoopTally.objects.counted_by("area", "worst") == before
    assert LoopTally.objects.count() == 3, "one line an area and sort"
    assert_right()


def test_counts_whose_trigger_was_lost_are_made_anew_by_the_next_migration(plant):
    on = " ON register_loop" if connection.vendor == "postgresql" else ""
    connection.check_constraints()
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER register_looptally_changed{on}")
    Loop.objects.update(criticality="safety")
    connection.check_constraints()  # PostgreSQL makes no trigger while a constraint is still to be checked
    call_command("migrate", verbosity=0)
    assert_right()
