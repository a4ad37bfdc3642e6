"""Benchmarks: our way and its floor, alternately in one run, because only ratios taken side by side can be trusted.

A case is a module of this package with a function that yields comparisons; CASES names it. Nothing in the product
imports this package.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from register.bench import engineering, exchange, pages, rules, sheets, start
from register.bench.comparison import Comparison

CASES: dict[str, Callable[[], Iterator[Comparison]]] = {
    "engineering": engineering.comparisons,
    "rules": rules.comparisons,
    "processes": rules.of_processes,
    "sheets": sheets.comparisons,
    "exchange": exchange.comparisons,
    "pages": pages.comparisons,
    "start": start.comparisons,
}

SHORTEST_RUN_S = 0.02
"""What takes less is repeated within a run until the clock reads it well."""


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds of one call over several runs."""

    median_s: float
    least_s: float
    most_s: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """A comparison's times; the ratio is ours to the floor's, by their medians."""

    what: str
    size: str
    floor_is: str
    ours: Timing
    floor: Timing

    @property
    def ratio(self) -> float:
        return self.ours.median_s / self.floor.median_s


def measure(comparison: Comparison, rounds: int) -> Outcome:
    """Run both ways in turn so many times."""
    ways = (comparison.ours, comparison.floor)
    calls = [_calls_for_a_run(way) for way in ways]
    seconds = [[], []]
    for _ in range(rounds):
        for way, count, taken in zip(ways, calls, seconds, strict=True):
            taken.append(_seconds(way, count) / count)
    ours, floor = (Timing(statistics.median(taken), min(taken), max(taken)) for taken in seconds)
    return Outcome(comparison.what, comparison.size, comparison.floor_is, ours, floor)


def _seconds(way: Callable[[], object], calls: int) -> float:
    begun = time.perf_counter()
    for _ in range(calls):
        way()
    return time.perf_counter() - begun


def _calls_for_a_run(way: Callable[[], object]) -> int:
    """How many calls make a run that the clock reads well; the first call, which fills caches, does not count."""
    way()
    calls = 1
    while (taken := _seconds(way, calls)) < SHORTEST_RUN_S:
        calls = max(2 * calls, int(calls * SHORTEST_RUN_S / max(taken, 1e-9)))
    return calls
