from __future__ import annotations

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from register.loading import load_models
from register.models import Asset, BoardFamily, CatalogueModel, ModelPort, Tag
from register.plant import sketch
from register.services.catalogue import (
    add_model,
    correct_model,
    loops_using,
    remove_bay,
    save_bay,
    save_family,
    save_model_port,
)
from register.services.permissions import NotAllowed
from register.services.recording import Refused, Stale
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
    assert set(loops_using([model("Relay board")])) == {loop.pk for loop in plant}


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


def test_every_change_of_an_entry_says_who_when_why_and_what_it_was(plant, planner):
    probe = model("Probe pt100")
    correct_model(probe, {"limits_high": Decimal(150), "price": Decimal("41.50")}, by=planner, reason="Misread")

    kept = model("Probe pt100").revisions.get()
    assert (kept.number, kept.by, kept.reason) == (1, planner, "Misread")
    assert kept.changes == [
        "range limits −50 to 400 °C → −50 to 150 °C",
        "price added: 41.50",
    ]


def test_a_correction_that_changes_nothing_is_not_noted(plant, planner):
    probe = model("Probe pt100")
    correct_model(probe, {"limits_high": probe.limits_high}, by=planner, reason="Looked at it")
    assert not probe.revisions.exists()


def test_a_form_opened_before_another_change_is_refused_and_told_of_it(plant, planner):
    probe = model("Probe pt100")
    correct_model(probe, {"wires": 4}, by=planner, reason="Read the plate", seen_revision=0)

    with pytest.raises(Stale) as caught:
        correct_model(model("Probe pt100"), {"wires": 3}, by=planner, reason="Guess", seen_revision=0)
    assert [one.reason for one in caught.value.missed] == ["Read the plate"]
    assert model("Probe pt100").wires == 4


def test_a_copy_has_every_fact_port_signal_and_bay_of_the_original(plant, planner):
    original = model("Regent 96")
    facts = {"maker": original.maker, "name": "Regent 96 S", "kind": original.kind}
    copied = add_model(facts, copy_of=original, by=planner, reason="New type")

    loaded = load_models([original.pk, copied.pk])
    assert loaded[copied.pk].ports == loaded[original.pk].ports
    assert loaded[copied.pk].bays == loaded[original.pk].bays
    assert original.ports.count() == len(loaded[original.pk].ports), "the original keeps its own"
    assert copied.revisions.get().reason == "New type"


def test_a_port_is_corrected_with_its_signals_and_the_loops_are_checked(plant, planner):
    port = ModelPort.objects.get(model__name="Probe pt100", direction="out")
    save_model_port(
        port,
        {"terminals": "1, 2, 3"},
        [{"signal": "pt1000", "limits_low": None, "limits_high": None, "limits_unit": "", "limits_reference": ""}],
        by=planner,
        reason="Misread",
        seen_revision=0,
    )
    assert [one.signal for one in load_models([port.model_id])[port.model_id].ports[0].signals] == ["pt1000"]
    plant[0].refresh_from_db()
    assert plant[0].revision == 2
    assert any("pt1000" in one for one in model("Probe pt100").revisions.get().changes)


def test_a_bay_that_is_taken_away_leaves_its_board_as_a_finding(plant, planner):
    controller = model("Regent 96")
    bay = controller.bays.get(name="2")
    remove_bay(bay, by=planner, reason="Other type", seen_revision=0)

    assert "bay 2: takes removed" in controller.revisions.get().changes[0]
    assert plant[0].findings.open().filter(rule="board-not-taken-by-bay").exists()


def test_a_bay_takes_the_families_that_are_chosen(plant, planner):
    controller = model("Regent 96")
    families = BoardFamily.objects.all()
    bay = controller.bays.model(model=controller)
    save_bay(bay, name="9", takes=families, by=planner, reason="New", seen_revision=0)
    assert load_models([controller.pk])[controller.pk].bay("9").takes == tuple(one.name for one in families)


def test_a_renamed_family_is_noted_at_every_model_that_it_concerns(plant, planner):
    family = model("Linear board").family
    save_family(family, {"name": "current output"}, by=planner, reason="Maker's word")

    for name in ("Linear board", "Regent 96"):
        assert any("current output" in one for one in model(name).revisions.get().changes)
    assert not model("Relay board").revisions.exists()


def test_successors_that_lead_in_a_ring_are_refused(plant, planner):
    first, second = model("Linear board"), model("Relay board")
    correct_model(first, {"successor": second}, by=planner, reason="Replaced")
    with pytest.raises(Refused, match="followed by"):
        correct_model(second, {"successor": first}, by=planner, reason="Slip")


def test_a_loop_that_reads_from_a_users_loop_is_recorded_and_checked_too(planner):
    reader = factories.loop(sketch.cascade(), by=planner)
    source = Tag.objects.exclude(loop=reader).get()
    regent = model("Regent 96")
    copied = add_model(
        {"maker": "Millrace", "name": "Copy", "kind": regent.kind}, by=planner, reason="x", copy_of=regent
    )
    Asset.objects.filter(installations__tag=source).update(model=copied)
    assert loops_using([copied]) == [source.loop_id]

    correct_model(copied, {"display_digits": 5}, by=planner, reason="Counted")
    reader.refresh_from_db()
    assert reader.revision == 2
