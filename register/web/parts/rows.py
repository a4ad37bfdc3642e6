"""The headings and the body of a django-tables2 table, each written in one pass.

The library asks again for every cell how its column is declared; here each column is asked once, and what is left for a
cell is its value. What a table declares (accessor, ``render_…``, linkify, default, attrs) works alike.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.http import QueryDict
from django.utils.formats import localize
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.timezone import template_localtime
from django_tables2 import Table
from django_tables2.columns import BoundColumn
from django_tables2.rows import BoundRow
from django_tables2.utils import AttributeDict, OrderBy, computed_values, signature

from register.web.parts.words import word


@dataclass(frozen=True)
class Heading:
    """A column's heading, the address that sorts by it ("" if none does) and how it is sorted now ("" if it is not)."""

    label: object
    css: str
    url: str
    sorted: str


PLACES = ("page", "after", "before", "last", "peek")
"""What an address says besides which rows a list has and in which order; sorting it anew begins at its beginning."""


def headings(table: Table, query: QueryDict) -> list[Heading]:
    """The headings of a table whose page has this query."""
    kept = query.copy()
    for name in (*PLACES, table.prefixed_page_field):
        kept.pop(name, None)
    by = table.order_by[0] if table.order_by else OrderBy("")
    made = []
    for column in table.columns:
        url, sorted_by = "", ""
        if column.orderable:
            kept[table.prefixed_order_by_field] = column.order_by_alias.next
            url = f"?{kept.urlencode()}"
        if column.name == by.bare:
            sorted_by = "descending" if by.is_descending else "ascending"
        made.append(Heading(column.header, column.column.attrs.get("td", {}).get("class", ""), url, sorted_by))
    return made


def body_rows(table: Table) -> SafeString:
    """The tr elements of the table's page. The first column heads its row."""
    writers = [cell_writer(table, column, heads_row=not place) for place, column in enumerate(table.columns)]
    return mark_safe("\n".join(_rows(table, writers)))


def _rows(table: Table, writers: list[Callable[[BoundRow], str]]) -> Iterator[str]:
    for row in table.paginated_rows:
        attrs = computed_values(table.row_attrs, {"table": table, "record": row.record})
        yield f'<tr role="row"{_html(attrs)}>{"".join([write(row) for write in writers])}</tr>'


def cell_writer(table: Table, bound: BoundColumn, *, heads_row: bool) -> Callable[[BoundRow], str]:
    """A function that writes this column's cell of a row."""
    wanted, takes_all = signature(bound.render)
    accessor, link, default, empty_values = bound.accessor, bound.link, bound.default, bound.column.empty_values
    words = dict(getattr(accessor.get_field(table.data.model), "flatchoices", ()))
    declared = bound.column.attrs.get("td", bound.column.attrs.get("cell", {}))
    fixed = None if any(callable(value) for value in declared.values()) else _html(declared)
    label = conditional_escape(word(bound.header))
    start, end = (
        (f'<th scope="row" role="rowheader" data-label="{label}"', "</th>")
        if heads_row
        else (f'<td role="cell" data-label="{label}"', "</td>")
    )
    nothing = f'<span class="empty">{conditional_escape(default)}</span>'

    def write(row: BoundRow) -> str:
        try:
            value = accessor.resolve(row.record)
        except (ValueError, TypeError, AttributeError, KeyError):
            value = None  # a column need not be a fact of the record: its render may work from the whole of it
        known = {
            "value": words.get(value, value) if words else value,
            "record": row.record,
            "column": bound.column,
            "bound_column": bound,
            "bound_row": row,
            "table": table,
        }
        attrs = _html(computed_values(declared, known)) if fixed is None else fixed
        if value in empty_values:
            return f"{start}{attrs}>{nothing}{end}"
        content = bound.render(**(known if takes_all else {name: known[name] for name in wanted}))
        if link:
            content = link(content, **known)
        return f"{start}{attrs}>{_shown(content)}{end}"

    return write


def _html(attrs: dict) -> str:
    written = AttributeDict(attrs).as_html()
    return f" {written}" if written else ""


def _shown(content: object) -> str:
    """What a template would show for it: in the reader's time zone and number format, escaped."""
    return conditional_escape(content if isinstance(content, str) else localize(template_localtime(content)))
