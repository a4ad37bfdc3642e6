"""Charts: geometry that says the same as the figures."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.web.parts.charts import Series, bar_chart, line_chart, scale


def test_the_longest_bar_takes_the_whole_width_and_the_others_their_share():
    chart = bar_chart("Findings", ["Kilning", "Steeping"], [Series("Errors", (3, 1)), Series("Warnings", (1, 0))])
    assert [(one.start, one.width) for one in chart.rows[0].segments] == [("0.00", "75.00"), ("75.00", "25.00")]
    assert [(one.start, one.width) for one in chart.rows[1].segments] == [("0.00", "25.00")]
    assert chart.rows[0].named_figures == (("Errors", 3), ("Warnings", 1))


def test_bars_of_nothing_have_no_width():
    chart = bar_chart("Findings", ["Kilning"], [Series("Errors", (0,))])
    assert chart.rows[0].segments == ()


def test_a_line_runs_from_the_left_edge_to_the_right_and_leaves_a_gap_where_a_figure_is_missing():
    chart = line_chart("Trend", ["Jan", "Feb", "Mar", "Apr", "May"], [Series("Errors", (0, 20, None, 10, 5))])
    assert chart.scale == ("20", "15", "10", "5", "0")
    assert chart.lines[0].path == "M0.00 100.00L25.00 0.00M75.00 50.00L100.00 75.00"


def test_a_chart_of_one_moment_or_of_no_change_still_draws():
    assert line_chart("Trend", ["Jan"], [Series("Errors", (0,))]).lines[0].path == "M0.00 100.00"


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (3, 17, [0, 5, 10, 15, 20]),
        (0, 100, [0, 50, 100]),
        (-8, 3, [-10, -5, 0, 5]),
        (0, Decimal("0.4"), [0, 0.1, 0.2, 0.3, 0.4]),
    ],
)
def test_an_axis_is_marked_in_ones_twos_and_fives(low, high, ticks):
    """Common practice for axes, no source."""
    assert scale(float(low), float(high)) == pytest.approx(ticks)


@given(st.floats(-1e9, 1e9), st.floats(-1e9, 1e9))
def test_an_axis_encloses_zero_and_every_value_in_few_steps(one, other):
    low, high = sorted((one, other))
    ticks = scale(low, high)
    assert ticks[0] <= min(low, 0) + 1e-9
    assert ticks[-1] >= max(high, 0) - 1e-9
    assert 2 <= len(ticks) <= 7
