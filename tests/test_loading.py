from __future__ import annotations

from datetime import date

import pytest
from msgspec.structs import replace

from register.loading import load_loop, load_loops
from register.models import Loop
from register.plant import sketch
from register.plant.values import SafetyFunction, Surroundings
from register.plant.words import Purpose
from tests import factories

pytestmark = pytest.mark.django_db


def installed(loop):
    """The sketch as the tables date it."""

    def dated(tags):
        return tuple(
            replace(tag, asset=replace(tag.asset, installed_on=factories.INSTALLED_ON)) if tag.asset else tag
            for tag in tags
        )

    return replace(loop, tags=dated(sorted(loop.tags, key=lambda tag: tag.name)), neighbours=dated(loop.neighbours))


UNRATED = replace(sketch.pressure_loop(), safety=SafetyFunction(shared_sensor_justified="SRS 4.2"))
"""Without a target SIL, what else is recorded of a safety function still counts."""


@pytest.mark.parametrize(
    "made", [sketch.temperature_loop(), sketch.pressure_loop(), UNRATED], ids=lambda loop: loop.number
)
def test_a_loop_comes_back_from_the_tables_as_it_went_in(made):
    factories.loop(made)

    assert replace(load_loop(made.number), surroundings=Surroundings()) == installed(made)


def test_a_linked_loop_brings_the_tag_at_the_far_end_without_its_alarms(db):
    factories.loop(sketch.cascade())

    loaded = load_loop("T-102")

    (master,) = loaded.neighbours
    assert (master.name, master.loop, master.alarms) == ("TIC-110", "T-110", ())
    assert master.settings.range == sketch.span("0-200 degC")
    assert [str(one) for one in loaded.connections(Purpose.REMOTE_SET_POINT)] == [
        "TIC-110 Output 1 → TIC-102 Remote set point"
    ]
    assert loaded.surroundings.cascade == ("TIC-110",)


def test_the_whole_plant_is_loaded_in_as_many_queries_as_one_loop(django_assert_max_num_queries):
    factories.many_loops(2)
    with django_assert_max_num_queries(30):
        load_loop("T-101", today=date(2025, 1, 1))
    factories.many_loops(6, first=10)
    with django_assert_max_num_queries(30):
        assert len(load_loops()) == 8


def test_the_number_of_queries_does_not_grow_with_the_loops(django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    factories.many_loops(2)
    with CaptureQueriesContext(connection) as few:
        load_loops(list(Loop.objects.values_list("pk", flat=True)))
    factories.many_loops(8, first=10)
    with CaptureQueriesContext(connection) as many:
        load_loops(list(Loop.objects.values_list("pk", flat=True)))

    assert len(many) == len(few)


def test_every_loop_loaded_alone_equals_the_same_loop_loaded_with_the_plant():
    factories.many_loops(4, first=100)
    factories.loop(sketch.cascade())
    plant = load_loops()

    for pk, loop in plant.items():
        assert load_loops([pk])[pk] == loop
