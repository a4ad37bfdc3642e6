from __future__ import annotations

from decimal import Decimal

import pytest

from register.models import Asset, CatalogueModel, Loop, Tag
from register.plant import sketch
from register.services import editing, many
from register.services.many import ASSETS, LOOPS, TAGS, StaleRows, change_many, seen, undo
from register.services.permissions import NotAllowed
from register.services.recording import Refused
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def planner(person):
    return person("planner")


@pytest.fixture
def plant(planner):
    return factories.many_loops(4, by=planner)


def seen_of(kind, rows) -> str:
    return seen(list(kind.rows([row.pk for row in rows])))


def standing(rows, column) -> list:
    return [getattr(type(row).objects.get(pk=row.pk), column) for row in rows]


def test_a_field_of_many_loops_is_set_and_each_that_changes_gets_a_revision(plant, planner):
    edit = change_many(
        LOOPS, "criticality", "safety", seen_revision=seen_of(LOOPS, plant), by=planner, reason="Study", work_order="W7"
    )
    assert set(standing(plant, "criticality")) == {"safety"}
    first, *others = plant
    assert first.revisions.count() == 1, "it was safety already"
    for loop in others:
        last = loop.revisions.first()
        assert (last.number, last.reason, last.work_order) == (2, "Study", "W7")
    assert [line[1:4] for line in edit.lines] == [
        ["P-102", "environment", "safety"],
        ["P-104", "routine", "safety"],
        ["T-103", "production", "safety"],
    ]


def test_tags_take_a_model_and_are_shown_by_its_name(plant, planner):
    tags = list(Tag.objects.filter(role="controller"))
    model = CatalogueModel.objects.filter(kind="controller").first()
    Tag.objects.filter(pk=tags[0].pk).update(specified=None)
    edit = change_many(TAGS, "specified", model, seen_revision=seen_of(TAGS, tags), by=planner, reason="As built")
    assert [line[1:4] for line in edit.lines] == [[str(tags[0]), "", str(model)]]


def test_numbers_keep_the_digits_they_were_typed_with_through_an_undo(plant, planner):
    Loop.objects.filter(pk=plant[0].pk).update(required_accuracy=Decimal("0.50"))
    edit = change_many(
        LOOPS, "required_accuracy", Decimal("1.0"), seen_revision=seen_of(LOOPS, plant), by=planner, reason="Study"
    )
    assert str(standing(plant[:1], "required_accuracy")[0]) == "1.0"
    undo(edit, by=planner, reason="Wrong study")
    assert [str(one) for one in standing(plant, "required_accuracy")] == ["0.50", "None", "None", "None"]


def test_a_remark_is_added_below_what_stands_there(plant, planner):
    Loop.objects.filter(pk=plant[0].pk).update(remarks="Noisy")
    edit = change_many(LOOPS, "remarks", "Kiln 2 stop", seen_revision=seen_of(LOOPS, plant[:2]), by=planner, reason="x")
    assert standing(plant[:2], "remarks") == ["Noisy\nKiln 2 stop", "Kiln 2 stop"]
    undo(edit, by=planner, reason="x")
    assert standing(plant[:2], "remarks") == ["Noisy", ""]


def test_an_undo_gives_each_row_what_it_held_and_a_revision_of_its_own(plant, planner):
    before = standing(plant, "criticality")
    edit = change_many(LOOPS, "criticality", "safety", seen_revision=seen_of(LOOPS, plant), by=planner, reason="Study")
    undo(edit, by=planner, reason="Wrong plant")
    assert standing(plant, "criticality") == before
    assert plant[1].revisions.first().number == 3
    assert plant[1].revisions.first().reason.endswith("undone: Wrong plant")
    with pytest.raises(Refused, match="undone already"):
        undo(edit, by=planner, reason="Again")


def test_an_undo_leaves_another_fact_that_was_changed_since(plant, planner):
    edit = change_many(LOOPS, "criticality", "safety", seen_revision=seen_of(LOOPS, plant), by=planner, reason="Study")
    row = Loop.objects.get(pk=plant[1].pk)
    editing.edit_loop(row, {"service": "Reheat"}, by=planner, seen_revision=row.revision, reason="Named")
    undo(edit, by=planner, reason="Wrong plant")
    assert standing(plant[1:2], "service") == ["Reheat"]


def test_an_undo_is_refused_whole_where_a_row_no_longer_holds_what_was_set(plant, planner):
    edit = change_many(LOOPS, "criticality", "safety", seen_revision=seen_of(LOOPS, plant), by=planner, reason="Study")
    row = Loop.objects.get(pk=plant[1].pk)
    editing.edit_loop(row, {"criticality": "routine"}, by=planner, seen_revision=row.revision, reason="Looked again")
    with pytest.raises(Refused, match=str(row)):
        undo(edit, by=planner, reason="Wrong plant")
    assert standing(plant, "criticality") == ["safety", "routine", "safety", "safety"]


def test_a_row_that_was_changed_since_it_was_seen_stops_all_and_is_told(plant, planner, person):
    asked = seen_of(LOOPS, plant)
    row = Loop.objects.get(pk=plant[2].pk)
    other = person("administrator")
    editing.edit_loop(row, {"service": "Reheat"}, by=other, seen_revision=row.revision, reason="Named")
    with pytest.raises(StaleRows, match=str(row)) as caught:
        change_many(LOOPS, "criticality", "safety", seen_revision=asked, by=planner, reason="Study")
    assert [(one.loop, one.by, one.reason) for one in caught.value.missed] == [(row, other, "Named")]
    assert standing(plant, "criticality")[3] == "routine"
    change_many(LOOPS, "criticality", "safety", seen_revision=caught.value.now, by=planner, reason="Study")
    assert set(standing(plant, "criticality")) == {"safety"}


def test_a_loop_that_was_retired_since_it_was_seen_is_told(plant, planner):
    asked = seen_of(LOOPS, plant)
    Loop.objects.filter(pk=plant[0].pk).update(retired_on="2025-01-01")
    with pytest.raises(StaleRows, match=plant[0].number) as caught:
        change_many(LOOPS, "criticality", "safety", seen_revision=asked, by=planner, reason="Study")
    assert len(many.versions(caught.value.now)) == 3


def test_what_stands_at_a_tag_gets_no_store_place(plant, planner):
    spare = factories.asset("A900")
    change_many(ASSETS, "store_place", "Store 2", seen_revision=seen_of(ASSETS, [spare]), by=planner, reason="Moved")
    assert standing([spare], "store_place") == ["Store 2"]

    installed = Asset.objects.filter(state="in service").first()
    asked = seen_of(ASSETS, [spare, installed])
    with pytest.raises(Refused, match=f"{installed}: in service"):
        change_many(ASSETS, "store_place", "Store 3", seen_revision=asked, by=planner, reason="Moved")
    assert standing([spare], "store_place") == ["Store 2"]


def test_where_an_asset_goes_is_a_movement_of_its_own_and_not_set_for_many():
    assert "state" not in ASSETS.columns


def test_an_asset_that_was_changed_since_it_was_seen_is_told(planner):
    spare = factories.asset("A900")
    asked = seen_of(ASSETS, [spare])
    Asset.objects.update(store_place="Elsewhere")
    with pytest.raises(StaleRows, match="A900"):
        change_many(ASSETS, "store_place", "Store 2", seen_revision=asked, by=planner, reason="Moved")


def test_who_may_not_edit_changes_nothing(plant, person, planner):
    asked = seen_of(LOOPS, plant)
    with pytest.raises(NotAllowed):
        change_many(LOOPS, "criticality", "safety", seen_revision=asked, by=person("technician"), reason="x")
    edit = change_many(LOOPS, "criticality", "safety", seen_revision=asked, by=planner, reason="x")
    with pytest.raises(NotAllowed):
        undo(edit, by=person("technician"), reason="x")


def test_the_number_of_queries_does_not_grow_with_the_rows(planner, django_assert_max_num_queries):
    loops = [factories.loop(sketch.temperature_loop(f"13{place}"), by=planner) for place in range(8)]
    for some in (loops[:2], loops):
        asked = seen_of(LOOPS, some)
        with django_assert_max_num_queries(80):
            change_many(LOOPS, "service", f"Group of {len(some)}", seen_revision=asked, by=planner, reason="x")
