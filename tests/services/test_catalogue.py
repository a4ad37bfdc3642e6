from __future__ import annotations

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from register.models import CatalogueModel
from register.plant import sketch
from register.services.catalogue import correct_model, loops_using
from register.services.permissions import NotAllowed
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def planner(person):
    return person("planner")


@pytest.fixture
def plant(planner):
    """Two heating loops with a linear board each, and a pressure loop."""
    return [
        factories.loop(sketch.temperature_loop("101"), by=planner),
        factories.loop(sketch.temperature_loop("102"), by=planner),
        factories.loop(sketch.voltage_loop(length_m="3"), by=planner),
    ]


def model(name):
    return CatalogueModel.objects.get(name=name)


def test_a_correction_records_and_checks_every_loop_that_uses_the_model(plant, planner):
    assert correct_model(model("Probe pt100"), {"limits_high": Decimal(150)}, by=planner, reason="Misread") == 2

    for loop in plant[:2]:
        loop.refresh_from_db()
        assert (loop.revision, loop.open_errors) == (2, 1)
        assert loop.findings.open().get().rule == "range-beyond-sensor"
    plant[2].refresh_from_db()
    assert plant[2].revision == 1


def test_a_board_counts_as_used_by_the_loop_of_its_controller(plant, planner):
    assert set(loops_using(model("Relay board"))) == {loop.pk for loop in plant}


def test_a_correction_that_the_tables_do_not_take_changes_nothing(plant, planner):
    with pytest.raises(ValidationError, match="low end of a range"):
        correct_model(model("Probe pt100"), {"limits_high": Decimal(-100)}, by=planner, reason="Slip")

    assert model("Probe pt100").limits_high == 400


def test_a_technician_may_not_correct_the_catalogue(plant, person):
    with pytest.raises(NotAllowed):
        correct_model(model("Probe pt100"), {"description": "x"}, by=person("technician"), reason="Slip")


def test_the_number_of_queries_does_not_grow_with_the_loops(planner, django_assert_max_num_queries):
    for place in range(6):
        factories.loop(sketch.temperature_loop(f"13{place}"), by=planner)

    with django_assert_max_num_queries(85):
        correct_model(model("Probe pt100"), {"limits_high": Decimal(150)}, by=planner, reason="Misread")
