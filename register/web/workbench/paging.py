"""Pages of a list by key: what follows a row or goes before it, at the same cost on the last page as on the first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.core.exceptions import FieldDoesNotExist
from django.db.models import F, Model, Q, QuerySet
from django.db.models.constants import LOOKUP_SEP

PER_PAGE = 50
PLACES = ("after", "before", "last")
"""What says in an address where in the list a page lies; none of them: at its beginning."""


@dataclass(frozen=True)
class Page:
    """The rows of a page. ``first`` and ``last`` name its outer rows, from which the pages beside it go on."""

    rows: list[Model]
    has_previous: bool
    has_next: bool
    first: str = ""
    last: str = ""


def page_of(
    rows: QuerySet, every: QuerySet, order: Sequence[str], name: str, place: Mapping[str, str], per_page: int = PER_PAGE
) -> Page:
    """The page at a place: ``{"after": name}``, ``{"before": name}``, ``{"last": "1"}`` or the first.

    ``order`` are paths, with - where they descend; ``name`` is the unique column that names a row and settles ties.
    ``rows`` are those of the list, ``every`` the same without its filters: a row from which a page goes on may have
    left the list. Where no row is called so any more, the page is the first.
    """
    by = _with_ties_settled(order, name)
    backwards = "before" in place or "last" in place
    if pivot := place.get("before") or place.get("after"):
        values = every.filter(**{name: pivot}).values_list(*(path for path, _ in by)).first()
        if values is None:
            return page_of(rows, every, order, name, {}, per_page)
        rows = rows.filter(_beyond(rows.model, by, values, backwards))
    found = list(rows.order_by(*_ordered(rows.model, by, backwards))[: per_page + 1])
    more, found = len(found) > per_page, found[:per_page]
    if backwards:
        found.reverse()
    before, after = (more, "before" in place) if backwards else ("after" in place, more)
    ends = (str(getattr(found[0], name)), str(getattr(found[-1], name))) if found else ("", "")
    return Page(found, before, after, *ends)


def in_order(rows: QuerySet, order: Sequence[str], name: str) -> QuerySet:
    """All rows in the order in which pages hold them."""
    return rows.order_by(*_ordered(rows.model, _with_ties_settled(order, name), backwards=False))


def _with_ties_settled(order: Sequence[str], name: str) -> list[tuple[str, bool]]:
    by = [(path.removeprefix("-"), path.startswith("-")) for path in order if path.removeprefix("-") != name]
    return [*by, (name, f"-{name}" in order)]


def _is_nullable(model: type[Model], path: str) -> bool:
    try:
        for step in path.split(LOOKUP_SEP):
            field = model._meta.get_field(step)
            if field.null:
                return True
            model = field.related_model
    except FieldDoesNotExist:
        return True  # what a query adds
    return False


def _ordered(model: type[Model], by: list[tuple[str, bool]], backwards: bool) -> list:
    """What is empty comes last, and first where the order is turned round."""
    found = []
    for path, descends in by:
        down = descends != backwards
        if not _is_nullable(model, path):
            found.append(f"-{path}" if down else path)
        else:
            found.append(F(path).desc(nulls_first=True) if down else F(path).asc(nulls_last=True))
    return found


def _beyond(model: type[Model], by: list[tuple[str, bool]], values: Sequence, backwards: bool) -> Q:
    """Rows that come after the one with these values, or before it."""
    found, tied = Q(), Q()
    for (path, descends), value in zip(by, values, strict=True):
        found |= tied & _past(model, path, value, descends != backwards)
        tied &= Q(**{f"{path}__isnull": True}) if value is None else Q(**{path: value})
    path, descends = by[0]
    if len(by) > 1 and not _is_nullable(model, path):
        # Said once more for the first column alone, which lets a database begin there in its index.
        found &= Q(**{f"{path}__{'lte' if descends != backwards else 'gte'}": values[0]})
    return found


def _past(model: type[Model], path: str, value: object, descends: bool) -> Q:
    if value is None:
        return Q(**{f"{path}__isnull": False}) if descends else Q(pk__in=[])
    if descends:
        return Q(**{f"{path}__lt": value})
    past = Q(**{f"{path}__gt": value})
    return past | Q(**{f"{path}__isnull": True}) if _is_nullable(model, path) else past
