"""Beside each filter of a list, how many rows it would leave. Plain functions on plain counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.utils.functional import Promise

from register.models import Area


@dataclass(frozen=True)
class Choice:
    """One value of a filter: its address narrows the list to it, or widens it again where it is chosen already."""

    value: str
    label: str | Promise
    query: str
    count: int | None
    chosen: bool = False


@dataclass(frozen=True)
class Facet:
    """A filter with its values; ``above`` leads out of an area into the one around it."""

    name: str
    label: str | Promise
    choices: list[Choice]
    above: Choice | None = None


def counts_of(sorts: Mapping[tuple, int], chosen: Sequence[str], place: int) -> Counter:
    """By the value at a place of each sort, how many rows have it and, at all other places, what is chosen there.

    >>> counts_of({("trip", "safety"): 2, ("trip", "routine"): 3, ("alarm", "routine"): 4}, ("trip", "routine"), 0)
    Counter({'alarm': 4, 'trip': 3})
    """
    found: Counter = Counter()
    for sort, count in sorts.items():
        if all(not wanted or wanted == sort[at] for at, wanted in enumerate(chosen) if at != place):
            found[sort[place]] += count
    return found


def counts_within(areas: Iterable[Area], rows: Mapping[int, int], around: Area | None) -> list[tuple[Area, int]]:
    """The areas right below one (None: the whole plant), each with the rows in it and below it."""
    by_pk = {area.pk: area for area in areas}
    found: Counter = Counter()
    for pk, count in rows.items():
        area, above = by_pk.get(pk), None
        while area is not None and area.pk != (around.pk if around else None):
            area, above = by_pk.get(area.parent_id), area
        if above is not None and (area is not None) == (around is not None):
            found[above.pk] += count
    below = (area for area in by_pk.values() if area.parent_id == (around.pk if around else None))
    return [(area, found[area.pk]) for area in below]
