from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from register.calc import reliability
from register.calc.errors import CalculationError, OutOfRange

means = st.floats(0.001, 60)


@given(means, st.integers(0, 120))
def test_the_poisson_sum_agrees_with_scipy(mean, count):
    assert reliability.poisson_at_most(mean, count) == pytest.approx(stats.poisson.cdf(count, mean), abs=1e-10)


@given(means, st.floats(0.01, 0.999))
def test_the_stock_is_the_smallest_that_reaches_the_level(mean, level):
    stock = reliability.stock_for_level(mean, level)

    assert reliability.poisson_at_most(mean, stock) >= level
    assert stock == 0 or reliability.poisson_at_most(mean, stock - 1) < level


@given(st.floats(0.01, 0.99), st.floats(0.05, 80))
def test_the_gamma_quantile_agrees_with_scipy(probability, shape):
    expected = stats.gamma.ppf(probability, shape)

    assert reliability.gamma_quantile(probability, shape) == pytest.approx(expected, rel=1e-7, abs=1e-12)


@given(st.floats(0.001, 2), st.integers(0, 50), st.floats(0, 500))
def test_experience_moves_the_rate_from_the_catalogue_towards_what_was_seen(prior, failures, years):
    rate = reliability.updated_rate(prior, failures, years)
    seen = failures / years if years else prior

    assert min(prior, seen) - 1e-9 <= rate.mean or years == 0
    assert rate.low < rate.mean
    assert rate.low < rate.high


def test_two_in_stock_meet_a_mean_demand_of_065_where_one_does_not():
    """86.1 % and 97.2 % (Poisson tables)."""
    assert reliability.poisson_at_most(0.65, 1) == pytest.approx(0.861, abs=0.0005)
    assert reliability.poisson_at_most(0.65, 2) == pytest.approx(0.972, abs=0.0005)


def test_common_cause_decides_what_redundancy_is_worth():
    """IEC 61508-6 annex B reduced: with a tenth in common, two channels are worth little more than ten."""
    alone = reliability.pfd_simplified("1oo1", 2e-6, 8760)

    assert reliability.pfd_simplified("1oo2", 2e-6, 8760) == pytest.approx(0.000102317, abs=1e-9)
    assert reliability.pfd_simplified("1oo2", 2e-6, 8760, beta=0.1) == pytest.approx(alone / 10 + 0.0000829, abs=1e-6)


@pytest.mark.parametrize("belief", [0.5, 0.9])
def test_the_interval_of_a_rate_holds_so_much_of_the_posterior(belief):
    """Gamma prior 0.5 failures in 10 years, 2 seen in 30: posterior gamma(2.5, 40), by SciPy."""
    rate = reliability.updated_rate(0.05, 2, 30.0, belief=belief)
    posterior = stats.gamma(2.5, scale=1 / 40)

    assert (rate.low, rate.high) == pytest.approx(posterior.interval(belief), rel=1e-9)


def test_a_part_that_is_no_probability_is_refused():
    assert reliability.pfd_series(0.00657, 0.002) == pytest.approx(0.00857)
    with pytest.raises(OutOfRange, match=r"from 0 to 1, not 1\.5"):
        reliability.pfd_series(0.1, 1.5)


def test_bad_input_says_what_is_valid():
    with pytest.raises(OutOfRange, match="0 to 10 000"):
        reliability.stock_for_level(1e9, 0.5)
    with pytest.raises(OutOfRange, match=r"at most 1, not 1\.752"):
        reliability.pfd_simplified("1oo1", 2e-4, 8760)
    with pytest.raises(OutOfRange, match=r"from 0 to 0\.999999"):
        reliability.stock_for_level(1, 1)
    with pytest.raises(OutOfRange, match="test interval must be above 0"):
        reliability.pfd_simplified("1oo1", 1e-6, 0)
    with pytest.raises(CalculationError, match="no voting"):
        reliability.pfd_simplified("3oo7", 1e-6, 8760)
