"""Failures and spares: Poisson stock, failure rates from experience, probability of failure on demand."""

from __future__ import annotations

import math
from dataclasses import dataclass

from register.calc.checked import finite, not_negative, positive
from register.calc.errors import CalculationError, OutOfRange
from register.calc.units import read_table

HOURS_PER_YEAR = 8760.0
MOST_FAILURES = 10_000
"""The greatest mean demand that is calculated with."""
WEIGHT_YEARS = 10.0
"""What a catalogue's failure rate weighs where nothing is said: as so many years of running time."""


def poisson_at_most(mean: float, count: int) -> float:
    """Probability that a Poisson demand of a mean, 0 to 10 000, is at most a count. Raises OutOfRange, NotANumber.

    Source: Poisson distribution, e.g. NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.6.19.

    >>> round(poisson_at_most(0.5, 1), 4)
    0.9098
    """
    check_mean(mean)
    return min(1.0, math.fsum(poisson(mean, k) for k in range(count + 1)))


def check_mean(mean: float) -> None:
    """Raises OutOfRange for a mean demand outside 0 to 10 000, NotANumber."""
    not_negative(mean=mean)
    if mean > MOST_FAILURES:
        raise OutOfRange(f"A mean demand lies from 0 to 10 000, not {mean:g}.")


def poisson(mean: float, count: int) -> float:
    """Probability that a Poisson demand of a mean is exactly a count. Source: Poisson distribution.

    >>> round(poisson(1.0, 0), 4)
    0.3679
    """
    if mean == 0:
        return float(count == 0)
    return math.exp(count * math.log(mean) - mean - math.lgamma(count + 1))


def stock_for_level(mean: float, level: float) -> int:
    """Smallest stock that meets a Poisson demand of a mean within the lead time with a probability.

    ``level`` lies from 0 to 0.999999, the mean from 0 to 10 000: raises OutOfRange, NotANumber.
    Source: Poisson distribution.

    >>> stock_for_level(0.65, 0.95)
    2
    """
    check_mean(mean)
    if not 0 <= level <= 0.999999:
        raise OutOfRange(f"A service level lies from 0 to 0.999999, not {level:g}.")
    count, reached = 0, poisson(mean, 0)
    while reached < level:
        count += 1
        reached += poisson(mean, count)
    return count


def lead_time_demand(installed: float, mtbf_h: float, lead_time_h: float) -> float:
    """Mean failures of so many like parts within a lead time in h; the mean time between failures in h is above 0.

    Raises OutOfRange, NotANumber. Source: constant failure rate, IEC 60050-192.

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
    prior_per_year: float, failures: int, years: float, *, prior_years: float = WEIGHT_YEARS, belief: float = 0.9
) -> Rate:
    """A catalogue failure rate, corrected by what the plant saw in its own running time.

    The catalogue counts as ``prior_years`` of experience (gamma prior of shape rate × years); the posterior is gamma
    too, and low and high hold the share ``belief`` of it between them. ``years`` is the running time of all parts
    together. Raises OutOfRange, NotANumber.
    Source: gamma–Poisson conjugacy, Gelman et al., Bayesian Data Analysis, 2.6.

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
    """Value below which a gamma variable of a shape above 0 and unit rate lies with a probability between 0 and 1.

    Raises OutOfRange, NotANumber. Source: Abramowitz and Stegun, 6.5, solved by bisection.

    >>> round(gamma_quantile(0.95, 1.0), 4)
    2.9957
    """
    positive(shape=shape)
    if not 0 < probability < 1:
        raise OutOfRange(f"A probability lies between 0 and 1, not {probability:g}.")
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
    """Order quantity √(2KD/h) and its cost per period √(2KDh), of cost of an order K, demand D, cost of holding one h.

    All above 0: raises OutOfRange, NotANumber. Source: Harris, Factory, The Magazine of Management 10 (1913) 135–136.

    >>> quantity, cost = economic_order(8, 0.225, 1300); round(quantity, 3), round(cost, 4)
    (304.047, 68.4105)
    """
    positive(fixed_cost=fixed_cost, holding_cost=holding_cost, demand=demand)
    return math.sqrt(2 * fixed_cost * demand / holding_cost), math.sqrt(2 * fixed_cost * demand * holding_cost)


def reorder_point(demand_per_period: float, lead_periods: float, deviation_per_period: float, z: float) -> float:
    """Stock at which to order: mean demand of the lead time and z standard deviations of it, all per one period.

    Raises OutOfRange for a negative one, NotANumber. Source: normal demand, common practice of stock control.

    >>> round(reorder_point(10, 4, 3, 1.645), 2)
    49.87
    """
    not_negative(demand=demand_per_period, lead_time=lead_periods, deviation=deviation_per_period)
    finite(z=z)
    return demand_per_period * lead_periods + z * deviation_per_period * math.sqrt(lead_periods)


# Probability of failure on demand

VOTINGS = ("1oo1", "1oo2", "2oo2", "2oo3", "1oo3")


def _voting(voting: str) -> str:
    if voting not in VOTINGS:
        raise CalculationError(f"“{voting}” is no voting: {', '.join(VOTINGS)}.")
    return voting


def _check_share(name: str, share: float) -> None:
    if not 0 <= share <= 1:
        raise OutOfRange(f"The {name} lies from 0 to 1, not {share:g}.")


def pfd_simplified(voting: str, dangerous_undetected_per_h: float, test_interval_h: float, beta: float = 0.0) -> float:
    """Average probability of failure on demand, with the common-cause share beta (0 to 1) where there is redundancy.

    ``voting`` is 1oo1, 1oo2, 1oo3, 2oo2 or 2oo3. Holds for a failure rate times test interval well below 1: above 1
    raises OutOfRange; also NotANumber, and CalculationError for another voting.
    Source: IEC 61508-6 annex B reduced, as in ISA-TR84.00.02.

    >>> round(pfd_simplified("1oo1", 2.5e-6, 8760), 5)
    0.01095
    """
    not_negative(failure_rate=dangerous_undetected_per_h)
    positive(test_interval=test_interval_h)
    _check_share("share of common causes", beta)
    missed = dangerous_undetected_per_h * test_interval_h
    if missed > 1:
        raise OutOfRange(f"The rate times the test interval must be at most 1, not {missed:g}: test more often.")
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

    ``voting`` as for :func:`pfd_simplified`; shares lie from 0 to 1. The mean repair time is taken for the mean time to
    restoration. Raises OutOfRange, NotANumber, and CalculationError for another voting.
    Source: IEC 61508-6:2010, annex B.3.2 (the clauses of the 2000 edition were read).

    >>> round(pfd_iec61508_6("1oo1", 1e-7, 8760), 5)
    0.00022
    """
    not_negative(failure_rate=failures_per_h, repair_time=mttr_h)
    positive(test_interval=test_interval_h)
    _check_share("dangerous fraction", dangerous_fraction)
    _check_share("diagnostic coverage", diagnostic_coverage)
    _check_share("share of common causes", beta)
    _check_share("share of detected common causes", beta_detected)
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

    Raises OutOfRange for a part that is no probability. Source: IEC 61508-6:2000, annex B.2.1.

    >>> round(pfd_series(0.002, 0.00657), 5)
    0.00857
    """
    for part in pfd_avg:
        _check_share("probability of each part", part)
    return min(1.0, math.fsum(pfd_avg))


_SIL_BANDS = [(float(row["pfd_avg_below"]), int(row["sil"])) for row in read_table("sil_bands.csv")]


def sil_band(pfd_avg: float) -> int | None:
    """Safety integrity level that a low-demand average reaches; None below SIL 1. Better than SIL 4's edge is SIL 4.

    The average alone makes no level: architecture and systematic capability count too. Raises OutOfRange, NotANumber.
    Source: IEC 61508-1:2010, table 2.

    >>> sil_band(0.01095), sil_band(0.0086)
    (1, 2)
    """
    not_negative(probability=pfd_avg)
    return next((sil for below, sil in _SIL_BANDS if pfd_avg < below), None)


def risk_reduction(pfd_avg: float) -> float:
    """Risk reduction factor, 1/PFD, of an average above 0. Raises OutOfRange, NotANumber.

    Source: IEC 61511-1, definition of risk reduction factor.

    >>> risk_reduction(0.01)
    100.0
    """
    positive(probability=pfd_avg)
    return 1 / pfd_avg
