"""A list as a workbench: what its address says, the page of rows that it shows, and what else could be chosen.

The whole state stands in the address: words, filters, order, columns, place and the row that is looked at. Pages are
reached by key, counts come from tallies, and what is searched is known row by row or is many: nothing takes longer for
being one of a hundred thousand.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import django_filters
from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.functional import Promise
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2 import Column, Table
from django_tables2.columns import BoundColumn
from django_tables2.data import TableData
from django_tables2.utils import AttributeDict

from register.models import Area, SavedView
from register.models.searching import MOST
from register.models.tallies import AreaTally
from register.services.permissions import May, may
from register.web.parts.lists import answer_file, downloads
from register.web.parts.rows import PLACES
from register.web.workbench.facets import Choice, Facet, counts_of, counts_within
from register.web.workbench.paging import Page, in_order, page_of


@dataclass(frozen=True)
class Sort:
    """A filter whose values tell rows apart: its name in addresses, the tally's column and what the rows have there."""

    name: str
    label: str | Promise
    choices: Sequence[tuple[str, str | Promise]]
    column: str
    of_row: Any


@dataclass(frozen=True)
class Listing:
    """What a list is made of. ``key`` is the unique column that names a row, ``area`` the path to its area."""

    name: str
    table: type[Table]
    filters: type[django_filters.FilterSet]
    rows: Callable[[], QuerySet]
    key: str
    area: str
    tally: type[AreaTally]
    sorts: tuple[Sort, ...]
    first_columns: tuple[str, ...]
    """The columns that are shown until somebody chooses others."""


class PageData(TableData):
    """The rows of a page for a table; they are in order already."""

    def __init__(self, data: Sequence, model: type[Model]):
        super().__init__(data)
        self._model = model

    @property
    def model(self) -> type[Model]:
        return self._model

    def __len__(self) -> int:
        return len(self.data)

    def order_by(self, aliases) -> None:
        pass


class PeekColumn(Column):
    """Opens the row beside the list; without scripts the list comes again with it."""

    def __init__(self):
        super().__init__(
            accessor="pk",
            verbose_name=gettext_lazy("Peek"),
            orderable=False,
            exclude_from_export=True,
            attrs={"td": {"class": "peek-cell"}},
        )

    def render(self, record, table: Table) -> SafeString:
        name, words = conditional_escape(record), conditional_escape(_("Peek"))
        return mark_safe(
            f'<a class="peek-link" hx-boost="true" href="{table.peek_address}{name}">{words}'
            f'<span class="visually-hidden"> {name}</span></a>'
        )


ALWAYS = ("pick", "peek")
"""Columns that are no facts of a row, so that nobody chooses them."""


class Workbench:
    def __init__(self, request: HttpRequest, listing: Listing):
        self.request, self.listing = request, listing
        self.every = listing.rows()
        self.filter = listing.filters(request.GET, queryset=self.every)
        self.filter.form.is_valid()  # what is no value of a filter narrows nothing
        self.chosen: Mapping[str, Any] = self.filter.form.cleaned_data
        self.words: str = (self.chosen.get("q") or "").strip()
        self.around: Area | None = self.chosen.get("area")
        self.matching = self.every.matching(self.words)

    # The address

    def address(self, **changes: object) -> str:
        """This list from its beginning, with some things changed; an empty value takes one away."""
        query = self.request.GET.copy()
        for name in PLACES:
            query.pop(name, None)
        for name, value in changes.items():
            query[name] = value
        for name in [name for name, values in query.lists() if not any(values)]:
            del query[name]
        return f"?{query.urlencode()}"

    @cached_property
    def state(self) -> str:
        """The query that brings this list back."""
        return self.address()[1:]

    @property
    def hidden(self) -> list[tuple[str, str]]:
        """What a form of this list sends besides its own words."""
        query = self.request.GET
        return [
            (name, value)
            for name, values in query.lists()
            for value in values
            if value and name not in (*PLACES, "q", "column")
        ]

    # Columns and rows

    @cached_property
    def table(self) -> Table:
        """The table, with no rows yet."""
        table = self.listing.table(PageData([], self.every.model), order_by=self.request.GET.get("sort", ""))
        shown = self.chosen_columns or self.listing.first_columns
        for column in table.columns.iterall():
            if column.name not in (*shown, *ALWAYS, self.listing.key):
                table.columns.hide(column.name)
        if not may(self.request.user, May.EDIT_REGISTER):
            table.columns.hide("pick")
        address = self.address()
        table.peek_address = conditional_escape(f"{address}{'&' if len(address) > 1 else ''}peek=")
        table.attrs["tbody"] = AttributeDict(
            {"hx-boost": "false", "hx-target": "#peek", "hx-select": "#peek", "hx-swap": "outerHTML show:none"}
        )
        return table

    @property
    def chosen_columns(self) -> list[str]:
        return [name for name in self.request.GET.getlist("column") if name in self.listing.table.base_columns]

    @property
    def columns(self) -> list[BoundColumn]:
        """What may be shown beside what names the row."""
        return [one for one in self.table.columns.iterall() if one.name not in (*ALWAYS, self.listing.key)]

    @cached_property
    def rows(self) -> QuerySet:
        """What the words and the filters leave; searched once, here, and not by the filter again."""
        rows = self.matching
        for name, value in self.chosen.items():
            if name != "q":
                rows = self.filter.filters[name].filter(rows, value)
        return rows

    @property
    def order(self) -> Sequence[str]:
        return self.table.columns[self.table.order_by[0].bare].order_by if self.table.order_by else ()

    @cached_property
    def page(self) -> Page:
        page = page_of(self.rows, self.every, self.order, self.listing.key, self.request.GET)
        self.table.data.data = page.rows
        return page

    @property
    def whole(self) -> Table:
        """The table with all rows, for a file."""
        self.table.data.data = in_order(self.rows, self.order, self.listing.key)
        return self.table

    # Counts

    @cached_property
    def areas(self) -> list[Area]:
        return list(Area.objects.only("pk", "name", "path", "parent_id"))

    @cached_property
    def found(self) -> list[tuple] | None:
        """With words to search: area and sorts of each row that matches them; None where they are many."""
        if not self.words:
            return None
        # Unordered, or a database walks its index of names until it has met enough rows that match.
        sorts = (sort.of_row for sort in self.listing.sorts)
        rows = list(self.matching.order_by().values_list(self.listing.area, *sorts)[: MOST + 1])
        return rows if len(rows) <= MOST else None

    @cached_property
    def within(self) -> set[int] | None:
        """Keys of the areas that the list is narrowed to."""
        if self.around is None:
            return None
        return {one.pk for one in self.areas if f"{one.path} / ".startswith(f"{self.around.path} / ")}

    @property
    def chosen_sorts(self) -> list[str]:
        return [self.chosen.get(sort.name) or "" for sort in self.listing.sorts]

    @cached_property
    def counted(self) -> bool:
        return not self.words or self.found is not None

    @cached_property
    def by_sort(self) -> Mapping[tuple, int]:
        """How many rows there are of each sort in the area."""
        if self.words:
            here = (row for row in self.found or () if self.within is None or row[0] in self.within)
            return Counter(tuple(sorts) for _area, *sorts in here)
        tally = self.listing.tally.objects.all()
        if self.within is not None:
            tally = tally.filter(area__in=self.within)
        return tally.counted_by(*(sort.column for sort in self.listing.sorts))

    @cached_property
    def by_area(self) -> Mapping[int, int]:
        """How many rows with what is chosen there are in each area."""
        chosen = self.chosen_sorts
        if self.words:
            return Counter(
                area
                for area, *sorts in self.found or ()
                if all(not wanted or wanted == sorts[at] for at, wanted in enumerate(chosen))
            )
        columns = (sort.column for sort in self.listing.sorts)
        wanted = {column: value for column, value in zip(columns, chosen, strict=True) if value}
        return {area: rows for (area,), rows in self.listing.tally.objects.filter(**wanted).counted_by("area").items()}

    @cached_property
    def total(self) -> int | None:
        """How many rows the list has; None: more than MOST."""
        if not self.counted:
            return None
        chosen = self.chosen_sorts
        return sum(
            rows
            for sort, rows in self.by_sort.items()
            if all(not wanted or wanted == sort[at] for at, wanted in enumerate(chosen))
        )

    @property
    def most(self) -> int:
        return MOST

    @cached_property
    def facets(self) -> list[Facet]:
        return [self._area_facet(), *(self._facet(place, sort) for place, sort in enumerate(self.listing.sorts))]

    def _facet(self, place: int, sort: Sort) -> Facet:
        chosen = self.chosen_sorts
        counts = counts_of(self.by_sort, chosen, place) if self.counted else None
        made = []
        for value, label in sort.choices:
            is_chosen = value == chosen[place]
            count = None if counts is None else counts[value]
            if count != 0 or is_chosen:
                made.append(
                    Choice(value, label, self.address(**{sort.name: "" if is_chosen else value}), count, is_chosen)
                )
        return Facet(sort.name, sort.label, made)

    def _area_facet(self) -> Facet:
        around = self.around
        below = counts_within(self.areas, self.by_area, around)
        while around is None and len(below) == 1 and (deeper := counts_within(self.areas, self.by_area, below[0][0])):
            if sum(count for _area, count in deeper) != below[0][1]:
                break
            below = deeper
        choices = [
            Choice(str(area.pk), area.name, self.address(area=area.pk), count if self.counted else None)
            for area, count in below
            if count or not self.counted
        ]
        above = None
        if around is not None:
            outer = next((one for one in self.areas if one.pk == around.parent_id), None)
            label = outer.path if outer else _("The whole plant")
            above = Choice("", label, self.address(area=outer.pk if outer else ""), None)
            choices.insert(0, Choice(str(around.pk), around.name, self.address(area=""), self.total, chosen=True))
        return Facet("area", gettext_lazy("Area"), choices, above)

    # Saved views

    @cached_property
    def views(self) -> list[SavedView]:
        return list(SavedView.objects.seen_by(self.request.user).filter(of=self.listing.name))

    @property
    def view(self) -> SavedView | None:
        """The saved view that this list is."""
        return next((one for one in self.views if one.query == self.state), None)

    # A row beside the list

    @property
    def peek(self) -> str:
        return self.request.GET.get("peek", "")

    @property
    def unpeeked(self) -> str:
        """The address of the same page without the row beside it."""
        query = self.request.GET.copy()
        query.pop("peek", None)
        return f"?{query.urlencode()}"

    @property
    def previous(self) -> str:
        return self.address(before=self.page.first)

    @property
    def next(self) -> str:
        return self.address(after=self.page.last)

    @property
    def beginning(self) -> str:
        return self.address()

    @property
    def end(self) -> str:
        return self.address(last=1)


def answer_bench(
    request: HttpRequest, template: str, listing: Listing, peeked: Callable[[str], Mapping[str, Any] | None]
) -> HttpResponse:
    """The page of a list, or the file of it that the address asks for. ``peeked`` gives what is shown of a row."""
    bench = Workbench(request, listing)
    if "download" in request.GET and (
        file := answer_file(request, bench.whole, name=listing.name, chosen=bench.filter)
    ):
        return file
    context = {"bench": bench, "table": bench.table, "peeked": peeked(bench.peek), "downloads": downloads(request)}
    return render(request, template, context)
