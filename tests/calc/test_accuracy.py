from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc import accuracy
from register.calc.errors import NotANumber, OutOfRange


def test_errors_on_different_bases_are_brought_to_one():
    """0.15 % of 250, 0.1 % of 1000, 0.2 % of 1500: 3.18, 1.27 % of reading (worked example, ISA-RP67.04.02)."""
    total = accuracy.root_sum_of_squares(
        [accuracy.of_reading(0.15, 250), accuracy.of_span(0.1, 1000), accuracy.of_span(0.2, 1500)]
    )

    assert total == pytest.approx(3.18, abs=0.005)
    assert total * 100 / 250 == pytest.approx(1.27, abs=0.005)


def test_a_known_bias_is_added_whole():
    """√(0.25² + 0.5² + 0.25²) + 0.1 (ISA-RP67.04.02)."""
    assert accuracy.root_sum_of_squares([0.25, 0.5, 0.25], [-0.1]) == pytest.approx(0.71237, abs=5e-6)


errors = st.lists(st.floats(0, 100), min_size=1, max_size=6)


@given(errors)
def test_root_sum_of_squares_is_at_most_the_worst_case(errors):
    assert accuracy.root_sum_of_squares(errors) <= accuracy.worst_case(errors) * (1 + 1e-9) + 1e-12


@given(errors)
def test_the_shares_make_up_the_whole(errors):
    assert sum(accuracy.shares_percent(errors)) == pytest.approx(100 if any(error**2 for error in errors) else 0)


def test_what_is_just_met_is_met():
    assert accuracy.meets([0.3, 0.4], 0.5)
    assert not accuracy.meets([0.3, 0.4], 0.4999)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: accuracy.root_sum_of_squares([0.1, math.nan]), NotANumber, "error 2"),
        (lambda: accuracy.worst_case([math.inf]), NotANumber, "error 1"),
        (lambda: accuracy.of_span(0.1, 0), OutOfRange, "span must be above 0"),
        (lambda: accuracy.of_reading(-0.1, 5), OutOfRange, "error must be 0 or more"),
        (lambda: accuracy.meets([0.1], 0), OutOfRange, "requirement must be above 0"),
    ],
)
def test_bad_input_says_what_is_valid(call, error, words):
    with pytest.raises(error, match=words):
        call()
