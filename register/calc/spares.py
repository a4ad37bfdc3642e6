"""Which spares to hold: demand left over by other stock, pooled demand, risk, and the best buys for a sum of money.

A demand is the tuple of the probabilities of 0, 1, 2 … failures within the lead time.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from register.calc.checked import not_negative, positive
from register.calc.errors import OutOfRange
from register.calc.reliability import HOURS_PER_YEAR, check_mean, poisson

DAYS_PER_YEAR = HOURS_PER_YEAR / 24
LEAST_PROBABILITY = 1e-12
"""Where the tail of a demand is cut off."""

Demand = tuple[float, ...]


def mtbf_h(rate_per_year: float) -> float:
    """Mean time between failures in h of a failure rate per year above 0. Raises OutOfRange, NotANumber.

    Source: constant failure rate, IEC 60050-192; a year of 8760 h.

    >>> mtbf_h(0.02)
    438000.0
    """
    positive(failure_rate=rate_per_year)
    return HOURS_PER_YEAR / rate_per_year


def per_million_h(rate_per_year: float) -> float:
    """A failure rate per year in failures per 10⁶ h. Raises OutOfRange, NotANumber. Source: a year of 8760 h.

    >>> round(per_million_h(0.0876), 9)
    10.0
    """
    not_negative(failure_rate=rate_per_year)
    return rate_per_year / HOURS_PER_YEAR * 1e6


def demand_of(mean: float, own_stock: int = 0) -> Demand:
    """Poisson demand of a mean, 0 to 10 000, of which ``own_stock`` is met before. Raises OutOfRange, NotANumber.

    Source: Poisson distribution; what own stock meets falls to none.

    >>> [round(one, 4) for one in demand_of(1.0, own_stock=1)][:3]
    [0.7358, 0.1839, 0.0613]
    """
    check_mean(mean)
    not_negative(own_stock=own_stock)
    upto = max(own_stock, math.ceil(mean))
    while poisson(mean, upto) > LEAST_PROBABILITY:
        upto += 1
    met = math.fsum(poisson(mean, count) for count in range(own_stock + 1))
    return (min(1.0, met), *(poisson(mean, count) for count in range(own_stock + 1, upto + 1)))


def together(demands: Iterable[Demand]) -> Demand:
    """The demand of all together, where each comes independently of the others. Source: convolution.

    >>> [round(one, 6) for one in together([(0.5, 0.5), (0.5, 0.5)])]
    [0.25, 0.5, 0.25]
    """
    whole: Demand = (1.0,)
    for one in demands:
        made = [0.0] * (len(whole) + len(one) - 1)
        for count, chance in enumerate(whole):
            for more, other in enumerate(one):
                made[count + more] += chance * other
        while len(made) > 1 and made[-1] < LEAST_PROBABILITY:
            made.pop()
        whole = tuple(made)
    return whole


def chance_of_more(demand: Demand, stock: int) -> float:
    """Probability that more is asked for than a stock; a stock below 0 is owed already.

    >>> round(chance_of_more(demand_of(0.5), 1), 4)
    0.0902
    """
    return math.fsum(demand[stock + 1 :]) if stock >= 0 else 1.0


def stock_for(demand: Demand, level: float) -> int:
    """Smallest stock that meets a demand with a probability from 0 to 0.999999. Raises OutOfRange.

    >>> stock_for(demand_of(1.0), 0.95)
    3
    """
    if not 0 <= level <= 0.999999:
        raise OutOfRange(f"A service level lies from 0 to 0.999999, not {level:g}.")
    stock = 0
    while 1 - chance_of_more(demand, stock) < level:
        stock += 1
    return stock


def mean_waiting(demand: Demand, stock: int) -> float:
    """Mean number of places that wait for a part at a time, where each failure is ordered anew at once.

    What is lacking below a stock of 0 waits too. Source: expected backorders of a stock replenished one for one, e.g.
    Muckstadt, Analysis and Algorithms for Service Parts Supply Chains, 2005.

    >>> round(mean_waiting(demand_of(1.0), 0), 9), round(mean_waiting(demand_of(1.0), 1), 4)
    (1.0, 0.3679)
    """
    return math.fsum((count - stock) * chance for count, chance in enumerate(demand) if count > stock)


def weight_of_level(level: float) -> float:
    """How much a wait counts against a spare held, by the service level that was asked for, from 0 to below 1.

    Raises OutOfRange. Source: critical ratio of the single-period (newsvendor) stock model, common practice.

    >>> round(weight_of_level(0.95), 6)
    19.0
    """
    if not 0 <= level < 1:
        raise OutOfRange(f"A service level lies from 0 to below 1, not {level:g}.")
    return level / (1 - level)


@dataclass(frozen=True, slots=True)
class Buyable:
    """A part that can be bought: its price above 0, its demand, its stock now and how much a wait for it counts."""

    name: str
    price: float
    demand: Demand
    stock: int
    weight: float = 1.0

    def risk(self, bought: int = 0) -> float:
        return self.weight * mean_waiting(self.demand, self.stock + bought)


@dataclass(frozen=True, slots=True)
class Buy:
    """One piece more: of what, how many of it are then bought, money spent so far and the risk that is left."""

    name: str
    pieces: int
    price: float
    spent: float
    risk: float


def best_buys(parts: Iterable[Buyable], money: float = math.inf, *, least_risk: float = 0.0) -> Iterator[Buy]:
    """The pieces to buy, in the order of most risk removed per unit of money, while the money lasts.

    Each piece removes its weight times the probability that it is asked for. A piece that what is left does not pay
    for is passed over. Ends where the risk left is at most ``least_risk``. Raises OutOfRange, NotANumber for a price.
    Source: marginal analysis, Fox, Management Science 13 (1966) 210–216; each point that no piece was passed over to
    reach is the least risk for its money.

    >>> [(buy.name, buy.pieces) for buy in best_buys([Buyable("a", 10, demand_of(1.0), 0)], 25)]
    [('a', 1), ('a', 2)]
    """
    left: list[tuple[float, int, int, Buyable]] = []

    def offer(place: int, bought: int, part: Buyable) -> None:
        removed = part.weight * chance_of_more(part.demand, part.stock + bought)
        if removed > LEAST_PROBABILITY:
            heapq.heappush(left, (-removed / part.price, place, bought, part))

    risk = 0.0
    for place, part in enumerate(parts):
        positive(price=part.price)
        risk += part.risk()
        offer(place, 0, part)
    spent = 0.0
    while left and risk > least_risk:
        value, place, bought, part = heapq.heappop(left)
        if spent + part.price > money:
            continue
        spent += part.price
        risk = max(0.0, risk + value * part.price)
        yield Buy(part.name, bought + 1, part.price, spent, risk)
        offer(place, bought + 1, part)
