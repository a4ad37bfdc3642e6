"""Failures and spares: Poisson stock, failure rates from experience, probability of failure on demand."""

from __future__ import annotations

import math
from dataclasses import dataclass

from register.calc.checked import not_negative, positive
from register.calc.errors import CalculationError, OutOfRange
from register.calc.units import read_table

HOURS_PER_YEAR = 8760.0


def poisson_at_most(mean: float, count: int) -> float:
    """Probability that a Poisson demand of a mean is at most a count. Raises OutOfRange, NotANumber.

    >>> round(poisson_at_most(0.5, 1), 4)
    0.9098
    """
    not_negative(mean=mean)
    if count < 0:
        return 0.0
    if mean == 0:
        return 1.0
    logs = (k * math.log(mean) - mean - math.lgamma(k + 1) for k in range(count + 1))
    return min(1.0, math.fsum(math.exp(log) for log in logs))


def stock_for_level(mean: float, level: float) -> int:
    """Smallest stock that meets the demand of a lead time with a probability. Raises OutOfRange for no probability.

    >>> stock_for_level(0.65, 0.95)
    2
    """
    not_negative(mean=mean)
    if not 0 <= level < 1:
        raise OutOfRange(f"A service level lies from 0 to below 1, not {level:g}.")
    count = 0
    while poisson_at_most(mean, count) < level:
        count += 1
    return count


def lead_time_demand(installed: float, mtbf_h: float, lead_time_h: float) -> float:
    """Mean failures of so many like parts within a lead time. Raises OutOfRange.

    >>> round(lead_time_demand(40, 438000, 2016), 5)
    0.18411
    """
    not_negative(installed=installed, lead_time=lead_time_h)
    positive(mean_time_between_failures=mtbf_h)
    return installed * lead_time_h / mtbf_h


@dataclass(frozen=True, slots=True)
class Rate:
    """A failure rate per year with an interval of so much belief."""

    mean: float
    low: float
    high: float


def updated_rate(
    prior_per_year: float, failures: int, years: float, *, prior_years: float = 10.0, belief: float = 0.9
) -> Rate:
    """A catalogue failure rate, corrected by what the plant saw in its own running time.

    The catalogue counts as ``prior_years`` of experience (gamma prior of shape rate × years); the posterior is gamma
    too. Raises OutOfRange. Source: gamma–Poisson conjugacy (e.g. Gelman et al., Bayesian Data Analysis, 2.6).

    >>> round(updated_rate(0.05, 2, 30.0).mean, 4)
    0.0625
    """
    positive(catalogue_rate=prior_per_year, weight_of_the_catalogue=prior_years)
    not_negative(failures=failures, running_time=years)
    if not 0 < belief < 1:
        raise OutOfRange(f"Belief lies between 0 and 1, not {belief:g}.")
    shape, time = prior_per_year * prior_years + failures, prior_years + years
    tail = (1 - belief) / 2
    return Rate(shape / time, gamma_quantile(tail, shape) / time, gamma_quantile(1 - tail, shape) / time)


def gamma_quantile(probability: float, shape: float) -> float:
    """Value below which a gamma variable of a shape and unit rate lies with a probability."""
    low, high = 0.0, max(1.0, shape)
    while _gamma_below(high, shape) < probability:
        high *= 2
    for _ in range(200):
        middle = (low + high) / 2
        if _gamma_below(middle, shape) < probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _gamma_below(x: float, shape: float) -> float:
    """Regularised lower incomplete gamma function, by series or continued fraction (Abramowitz, Stegun, 6.5)."""
    if x <= 0:
        return 0.0
    front = math.exp(shape * math.log(x) - x - math.lgamma(shape))
    if x < shape + 1:
        term = total = 1 / shape
        n = shape
        while term > total * 1e-17:
            n += 1
            term *= x / n
            total += term
        return total * front
    b = x + 1 - shape
    c, d = 1e300, 1 / b
    fraction = d
    for i in range(1, 10_000):
        a = -i * (i - shape)
        b += 2
        d = 1 / (a * d + b)
        c = b + a / c
        fraction *= d * c
        if abs(d * c - 1) < 1e-16:
            break
    return 1 - front * fraction


def economic_order(fixed_cost: float, holding_cost: float, demand: float) -> tuple[float, float]:
    """Order quantity √(2KD/h) and its cost per period √(2KDh). Raises OutOfRange. Source: Harris, 1913.

    >>> quantity, cost = economic_order(8, 0.225, 1300); round(quantity, 3), round(cost, 4)
    (304.047, 68.4105)
    """
    positive(fixed_cost=fixed_cost, holding_cost=holding_cost, demand=demand)
    return math.sqrt(2 * fixed_cost * demand / holding_cost), math.sqrt(2 * fixed_cost * demand * holding_cost)


def reorder_point(demand_per_period: float, lead_periods: float, deviation_per_period: float, z: float) -> float:
    """Stock at which to order: mean demand of the lead time and z standard deviations of it.

    >>> round(reorder_point(10, 4, 3, 1.645), 2)
    49.87
    """
    not_negative(demand=demand_per_period, lead_time=lead_periods, deviation=deviation_per_period)
    return demand_per_period * lead_periods + z * deviation_per_period * math.sqrt(lead_periods)


# Probability of failure on demand

VOTINGS = ("1oo1", "1oo2", "2oo2", "2oo3", "1oo3")


def _voting(voting: str) -> str:
    if voting not in VOTINGS:
        raise CalculationError(f"“{voting}” is no voting: {', '.join(VOTINGS)}.")
    return voting


def pfd_simplified(voting: str, dangerous_undetected_per_h: float, test_interval_h: float, beta: float = 0.0) -> float:
    """Average probability of failure on demand, with the common-cause share beta where there is redundancy.

    Raises OutOfRange, CalculationError. Source: IEC 61508-6 annex B reduced, as in ISA-TR84.00.02.

    >>> round(pfd_simplified("1oo1", 2.5e-6, 8760), 5)
    0.01095
    """
    not_negative(failure_rate=dangerous_undetected_per_h, beta=beta)
    positive(test_interval=test_interval_h)
    missed = dangerous_undetected_per_h * test_interval_h
    alone, together = (1 - beta) * missed, beta * missed / 2
    return {
        "1oo1": missed / 2,
        "1oo2": alone**2 / 3 + together,
        "2oo2": missed,
        "2oo3": alone**2 + together,
        "1oo3": alone**3 / 4 + together,
    }[_voting(voting)]


def pfd_iec61508_6(
    voting: str,
    failures_per_h: float,
    test_interval_h: float,
    *,
    dangerous_fraction: float = 0.5,
    diagnostic_coverage: float = 0.0,
    beta: float = 0.0,
    beta_detected: float = 0.0,
    mttr_h: float = 8.0,
) -> float:
    """Average probability of failure on demand by the whole equations of IEC 61508-6:2010, annex B.3.2.

    The mean repair time is taken for the mean time to restoration. Raises OutOfRange, CalculationError.

    >>> round(pfd_iec61508_6("1oo1", 1e-7, 8760), 5)
    0.00022
    """
    not_negative(failure_rate=failures_per_h, repair_time=mttr_h, beta=beta, beta_of_detected=beta_detected)
    positive(test_interval=test_interval_h)
    for name, share in (("dangerous fraction", dangerous_fraction), ("diagnostic coverage", diagnostic_coverage)):
        if not 0 <= share <= 1:
            raise OutOfRange(f"The {name} lies from 0 to 1, not {share:g}.")
    dangerous = failures_per_h * dangerous_fraction
    detected, undetected = dangerous * diagnostic_coverage, dangerous * (1 - diagnostic_coverage)

    def down_h(tests: int) -> float:
        return (1 - diagnostic_coverage) * (test_interval_h / tests + mttr_h) + diagnostic_coverage * mttr_h

    single, group = down_h(2), down_h(3)
    independent = (1 - beta_detected) * detected + (1 - beta) * undetected
    common = beta_detected * detected * mttr_h + beta * undetected * (test_interval_h / 2 + mttr_h)
    return {
        "1oo1": dangerous * single,
        "1oo2": 2 * independent**2 * single * group + common,
        "2oo2": 2 * dangerous * single,
        "2oo3": 6 * independent**2 * single * group + common,
        "1oo3": 6 * independent**3 * single * group * down_h(4) + common,
    }[_voting(voting)]


def pfd_series(*pfd_avg: float) -> float:
    """Probability of failure on demand of a function whose parts must all work: their sum, at most 1.

    Raises OutOfRange for a part that is no probability. Source: IEC 61508-6:2010, annex B.3.2.1.

    >>> round(pfd_series(0.002, 0.00657), 5)
    0.00857
    """
    for part in pfd_avg:
        if not 0 <= part <= 1:
            raise OutOfRange(f"A probability lies from 0 to 1, not {part:g}.")
    return min(1.0, math.fsum(pfd_avg))


def sil_band(pfd_avg: float) -> int | None:
    """Safety integrity level that a low-demand average reaches; None below SIL 1. Better than SIL 4's edge is SIL 4.

    Source: IEC 61508-1:2010, table 2.

    >>> sil_band(0.01095), sil_band(0.0086)
    (1, 2)
    """
    not_negative(probability=pfd_avg)
    for row in read_table("sil_bands.csv"):
        if pfd_avg < float(row["pfd_avg_below"]):
            return int(row["sil"])
    return None


def risk_reduction(pfd_avg: float) -> float:
    """Risk reduction factor, 1/PFD. Raises OutOfRange.

    >>> risk_reduction(0.01)
    100.0
    """
    positive(probability=pfd_avg)
    return 1 / pfd_avg
