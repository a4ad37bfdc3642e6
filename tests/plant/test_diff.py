"""What differs between two loops, in words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from register.plant import sketch
from register.plant.codec import decode, encode
from register.plant.diff import Change, changes
from tests.plant.strategies import altered, recorded_loops

LOOP = sketch.temperature_loop()


def told(new, old=LOOP):
    return [str(change) for change in changes(old, new)]


@pytest.mark.parametrize(
    ("new", "words"),
    [
        (
            sketch.with_settings(LOOP, "TIC-101", range=sketch.span("0-250 degC")),
            ["TIC-101 settings: range 0–200 °C → 0–250 °C"],
        ),
        (
            sketch.with_settings(LOOP, "TIC-101", cycle_time_s=sketch.number(20)),
            ["TIC-101 settings: cycle time s added: 20"],
        ),
        (
            sketch.with_settings(LOOP, "TIC-101", filter_s=None),
            ["TIC-101 settings: filter s removed: was 2"],
        ),
        (
            sketch.with_alarm(LOOP, "TIC-101", "Alarm 1", set_point=sketch.number(170), trip=True),
            ["TIC-101 Alarm 1: set point 160 → 170", "TIC-101 Alarm 1: trip added: yes"],
        ),
        (
            sketch.with_cable(LOOP, "TV-101", "Signal", length_m=sketch.number(75)),
            [
                "link TIC-101 Output 1 → TV-101 Signal core 1 of C-1012 cable: length m 60 → 75",
                "link TIC-101 Output 1 → TV-101 Signal core 2 of C-1012 cable: length m 60 → 75",
            ],
        ),
        (replace(LOOP, service="Wort temperature"), ["service Hot water temperature → Wort temperature"]),
    ],
    ids=["changed", "added", "removed", "of an alarm", "of a cable", "of the loop"],
)
def test_a_fact_that_differs_is_told_with_its_place_and_both_values(new, words):
    assert told(new) == words


def test_another_model_is_one_change_by_its_name_and_not_what_it_can_do():
    new = sketch.with_model(LOOP, "TV-101", name="Globe 50")

    assert told(new) == [
        "TV-101: specified Tarn & Pell Globe 40 → Tarn & Pell Globe 50",
        "TV-101 asset: model Tarn & Pell Globe 40 → Tarn & Pell Globe 50",
    ]


def test_a_board_that_was_pulled_is_told_by_its_bay():
    assert told(sketch.with_boards(LOOP, "TIC-101", bay_1=None)) == [
        "TIC-101 asset bay 1: bay removed: was 1",
        "TIC-101 asset bay 1: model removed: was Fennel Row Linear board",
    ]


def test_what_changes_in_a_neighbour_is_told_with_its_loop():
    cascade = sketch.cascade()

    assert told(sketch.with_tag(cascade, "TIC-110", place="Panel P9"), cascade) == [
        "T-110 TIC-110: place Panel P1, row 2 → Panel P9"
    ]


def test_two_loops_that_hold_the_same_in_another_order_of_tags_do_not_differ():
    assert changes(LOOP, replace(LOOP, tags=LOOP.tags[::-1], links=LOOP.links[::-1])) == ()


def test_what_stands_around_a_loop_is_no_change_of_it():
    assert told(sketch.with_surroundings(LOOP, cascade=("TIC-9",))) == []


@given(recorded_loops())
def test_a_loop_does_not_differ_from_itself(loop):
    assert changes(loop, decode(encode(loop))) == ()


@given(st.data())
def test_going_back_tells_the_same_places_with_the_values_turned_round(data):
    new = data.draw(altered(LOOP))
    there, back = changes(LOOP, new), changes(new, LOOP)

    assert {Change(one.path, one.new, one.old) for one in there} == set(back)
