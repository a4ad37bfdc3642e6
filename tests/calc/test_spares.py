"""Spares to hold, checked against published check values, SciPy and sums done by hand."""

from __future__ import annotations

import csv
import itertools
import json
from pathlib import Path

import pytest
from scipy import stats

from register.calc import reliability, spares
from register.calc.errors import OutOfRange

CHECKS = [
    (row["id"], json.loads(row["inputs"]), json.loads(row["expected"]))
    for row in csv.DictReader(Path(__file__).with_name("checks.csv").open(encoding="utf-8"))
    if row["topic"] == "spares"
]


def of(calc: str) -> list[tuple[dict, object]]:
    return [pytest.param(inputs, expected, id=name) for name, inputs, expected in CHECKS if inputs["calc"] == calc]


@pytest.mark.parametrize(("inputs", "expected"), of("poisson_cdf"))
def test_a_demand_has_the_tail_of_the_published_tables(inputs, expected):
    """Sources beside each value in checks.csv: public tables of the cumulative Poisson distribution."""
    demand = spares.demand_of(inputs["mean"])
    assert 1 - spares.chance_of_more(demand, inputs["k"]) == pytest.approx(expected, abs=6e-5)


@pytest.mark.parametrize(("inputs", "expected"), of("stock_for_level"))
def test_the_stock_for_a_level_is_that_of_the_check_values(inputs, expected):
    assert spares.stock_for(spares.demand_of(inputs["mean"]), inputs["level"]) == expected


@pytest.mark.parametrize(("inputs", "expected"), of("spares_stock"))
def test_installed_rate_and_lead_time_give_the_stock_of_the_check_values(inputs, expected):
    mean = reliability.lead_time_demand(inputs["installed"], inputs["mtbf_h"], inputs["lead_time_h"])
    demand = spares.demand_of(mean)
    stock = spares.stock_for(demand, inputs["level"])
    assert mean == pytest.approx(expected["mean"], abs=1e-4)
    assert stock == expected["stock"]
    assert 1 - spares.chance_of_more(demand, stock) == pytest.approx(expected["achieved"], abs=1e-4)


MEANS = (0.0, 0.003, 0.4, 1.0, 7.3, 60.0)


@pytest.mark.parametrize("mean", MEANS)
@pytest.mark.parametrize("stock", [0, 1, 5, 80])
def test_risk_and_waiting_agree_with_scipy(mean, stock):
    demand = spares.demand_of(mean)
    assert spares.chance_of_more(demand, stock) == pytest.approx(stats.poisson.sf(stock, mean), abs=1e-9)
    assert spares.mean_waiting(demand, stock) == pytest.approx(waiting(mean, stock), abs=1e-8)


def waiting(mean: float, stock: int) -> float:
    """E[(D − s)⁺] = μ·P(D ≥ s) − s·P(D > s) of a Poisson demand, the probabilities from SciPy."""
    return mean * stats.poisson.sf(stock - 1, mean) - stock * stats.poisson.sf(stock, mean)


@pytest.mark.parametrize("mean", MEANS)
@pytest.mark.parametrize("level", [0.0, 0.5, 0.9, 0.99, 0.999999])
def test_the_stock_for_a_level_agrees_with_scipy(mean, level):
    assert spares.stock_for(spares.demand_of(mean), level) == max(0, int(stats.poisson.ppf(level, mean)))


def test_demands_added_up_are_the_demand_of_the_sum():
    """The sum of independent Poisson variables is Poisson: NIST/SEMATECH e-Handbook, 1.3.6.6.19."""
    added = spares.together([spares.demand_of(0.7), spares.demand_of(1.8)])
    assert added[:8] == pytest.approx([stats.poisson.pmf(k, 2.5) for k in range(8)], abs=1e-12)


def test_what_own_stock_meets_is_not_asked_of_the_common_spare():
    """Demand 1.0 met by 2 of its own: SciPy's tail beyond them, added to the common spare's own demand 0.5."""
    demand = spares.together([spares.demand_of(0.5), spares.demand_of(1.0, own_stock=2)])
    left = {0: stats.poisson.cdf(2, 1.0)} | {k: stats.poisson.pmf(k + 2, 1.0) for k in range(1, 12)}
    beyond_one = 1 - sum(
        stats.poisson.pmf(own, 0.5) * chance for own in range(2) for other, chance in left.items() if own + other <= 1
    )
    assert spares.chance_of_more(demand, 1) == pytest.approx(beyond_one, abs=1e-9)


def test_one_stock_for_two_needs_less_than_a_stock_of_each():
    """Literal, from SciPy: ppf(0.95) of 0.3 is 1, of 0.6 is 2."""
    alone = spares.demand_of(0.3)
    assert spares.stock_for(alone, 0.95) == 1
    assert spares.stock_for(spares.together([alone, alone]), 0.95) == 2
    three = spares.together([alone] * 3)
    assert spares.stock_for(three, 0.95) == 3 == int(stats.poisson.ppf(0.95, 0.9))
    five = spares.together([alone] * 5)
    assert spares.stock_for(five, 0.95) == int(stats.poisson.ppf(0.95, 1.5)) == 4  # and not 5, one of each


def test_stock_that_is_owed_counts_as_none():
    demand = spares.demand_of(0.2)
    assert spares.chance_of_more(demand, -1) == 1.0
    assert spares.mean_waiting(demand, -2) == pytest.approx(2.2)


PARTS = [
    spares.Buyable("valve", 980, spares.demand_of(0.4), 0, weight=19),
    spares.Buyable("board", 32, spares.demand_of(0.9), 1, weight=9),
    spares.Buyable("probe", 74, spares.demand_of(0.6), 0, weight=99),
]


def risk_of(bought: dict[str, int]) -> float:
    means = {"valve": 0.4, "board": 0.9, "probe": 0.6}
    return sum(one.weight * waiting(means[one.name], one.stock + bought.get(one.name, 0)) for one in PARTS)


def test_each_point_of_the_curve_is_the_least_risk_that_its_money_buys():
    """Every other mix that costs no more is tried."""
    for buy in itertools.islice(spares.best_buys(PARTS), 9):
        mixes = itertools.product(range(3), range(9), range(7))
        affordable = [
            dict(zip(("valve", "board", "probe"), mix, strict=True))
            for mix in mixes
            if 980 * mix[0] + 32 * mix[1] + 74 * mix[2] <= buy.spent
        ]
        assert buy.risk == pytest.approx(min(map(risk_of, affordable)), abs=1e-8)


def test_no_more_is_spent_than_there_is_and_what_is_left_buys_the_next_that_it_pays_for():
    bought = list(spares.best_buys(PARTS, 170))
    assert bought[-1].spent <= 170
    assert [(buy.name, buy.pieces) for buy in bought] == [("probe", 1), ("probe", 2)]
    assert [buy.name for buy in spares.best_buys(PARTS, 110)] == ["probe", "board"]
    assert list(spares.best_buys(PARTS, 31)) == []


def test_the_curve_ends_where_little_enough_risk_is_left():
    now = sum(part.risk() for part in PARTS)
    last = list(spares.best_buys(PARTS, least_risk=now / 10))[-1]
    assert last.risk <= now / 10


def test_a_part_without_a_price_cannot_be_weighed():
    with pytest.raises(OutOfRange, match="price"):
        list(spares.best_buys([spares.Buyable("gift", 0, spares.demand_of(1.0), 0)]))


@pytest.mark.parametrize(("level", "weight"), [(0.9, 9), (0.95, 19), (0.99, 99), (0.0, 0)])
def test_a_wait_weighs_by_the_critical_ratio(level, weight):
    """p/(1−p), the single-period stock model: common practice."""
    assert spares.weight_of_level(level) == pytest.approx(weight)


def test_what_no_level_can_be_is_refused():
    for level in (1.0, -0.1):
        with pytest.raises(OutOfRange):
            spares.weight_of_level(level)
        with pytest.raises(OutOfRange):
            spares.stock_for(spares.demand_of(1.0), level)
