"""A list's page, and the same list as a file: all that the filters and the search leave of it, in its order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from tempfile import TemporaryFile
from types import MappingProxyType
from typing import Any

from django.contrib import messages
from django.db.models import Manager, Model, QuerySet
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.text import slugify
from django.utils.timezone import template_localtime
from django.utils.translation import gettext as _
from django_filters import FilterSet
from django_tables2 import RequestConfig, Table
from django_tables2.columns import BoundColumn
from django_tables2.utils import signature

from register.exchange.lists import WRITERS, Cell, Listing, TooLong
from register.web.parts.rows import PLACES

CHUNK = 2000


def answer_list(
    request: HttpRequest,
    template: str,
    table: Table,
    *,
    name: str,
    chosen: FilterSet | None = None,
    context: Mapping[str, Any] | Callable[[], Mapping[str, Any]] = MappingProxyType({}),
    per_page: int = 50,
) -> HttpResponse:
    """The page of a list; with ``?download=xlsx`` (or csv, json) the whole list under that name instead.

    What else the page shows is its context, or a function that gives it where that costs: a file has no need of it.
    A column says for the file, as django-tables2 has it: ``value_…`` of the table gives its cell where the bare fact
    would not do, ``exclude_from_export`` leaves it out. One declared with ``visible=False`` stands in files only.
    """
    if file := answer_file(request, table, name=name, chosen=chosen):
        return file
    RequestConfig(request, paginate={"per_page": per_page}).configure(table)
    page = {"table": table, "filter": chosen, "downloads": downloads(request)}
    return render(request, template, page | dict(context() if callable(context) else context))


def answer_file(request: HttpRequest, table: Table, *, name: str, chosen: FilterSet | None) -> HttpResponse | None:
    """The list as the file that the address asks for; None where it asks for the page."""
    ending = request.GET.get("download")
    if ending not in WRITERS:
        return None
    RequestConfig(request, paginate=False).configure(table)
    try:
        return download(_listing(table, name, chosen), ending)
    except TooLong as reason:
        messages.error(request, str(reason))
        return redirect(f"{request.path}?{_asked(request)}")


def downloads(request: HttpRequest) -> list[tuple[str, str]]:
    """The formats in which a list is taken along, each with its address."""
    asked = _asked(request)
    return [(one, f"?{asked}{'&' if asked else ''}download={one}") for one in WRITERS]


def download(listing: Listing, ending: str, day: date | None = None) -> FileResponse:
    """A list of a day (None: today) as a file, written whole before it is sent: what fails is then no half a file."""
    target = TemporaryFile()  # noqa: SIM115 - the response closes it when it is sent
    WRITERS[ending](target, listing)
    target.seek(0)
    filename = f"{slugify(listing.name, allow_unicode=True)}-{day or timezone.localdate():%Y-%m-%d}.{ending}"
    return FileResponse(target, as_attachment=True, filename=filename)


def chosen_words(chosen: FilterSet) -> str:
    """What a list was narrowed by, in words."""

    def shown(field) -> str:
        value = chosen.form.cleaned_data[field.name]
        return str(dict(getattr(field.field, "choices", ())).get(value, value))

    fields = [chosen.form[name] for name, value in chosen.form.cleaned_data.items() if value]
    return "; ".join(f"{field.label}: {shown(field)}" for field in fields)


def _asked(request: HttpRequest) -> str:
    query = request.GET.copy()
    for name in (*PLACES, "download"):
        query.pop(name, None)
    return query.urlencode()


def _listing(table: Table, name: str, chosen: FilterSet | None) -> Listing:
    declared = table.base_columns
    columns = [
        one
        for one in table.columns.iterall()
        if not one.column.exclude_from_export and (one.visible or not declared[one.name].visible)
    ]
    readers = [_reader(table, one) for one in columns]
    notes = {_("Taken on"): f"{timezone.localdate():%Y-%m-%d}"}
    if chosen is not None and (words := chosen_words(chosen)):
        notes[_("Narrowed by")] = words
    return Listing(
        name=name[0].upper() + name[1:],
        fields=[one.name for one in columns],
        headings=[str(one.header) for one in columns],
        rows=([read(record) for read in readers] for record in _records(table)),
        notes=notes,
    )


def _records(table: Table) -> Iterator[Any]:
    rows = table.data.data
    return rows.iterator(chunk_size=CHUNK) if isinstance(rows, QuerySet | Manager) else iter(rows)


def _reader(table: Table, bound: BoundColumn) -> Callable[[Any], Cell]:
    """A function that gives this column's cell of a record."""
    value_of = getattr(table, f"value_{bound.name}", None)
    wanted = signature(value_of)[0] if value_of else ()
    words = dict(getattr(bound.accessor.get_field(table.data.model), "flatchoices", ()))

    def read(record: Any) -> Cell:
        try:
            value = bound.accessor.resolve(record)
        except (ValueError, TypeError, AttributeError, KeyError):
            value = None  # as in a list on the page, the cell may come from the whole of the record
        if value_of:
            known = {"value": value, "record": record}
            value = value_of(**{name: known[name] for name in wanted})
        return _cell(words.get(value, value) if words else value)

    return read


def _cell(value: Any) -> Cell:
    if isinstance(value, Model | Promise):
        return str(value)
    return template_localtime(value) if isinstance(value, datetime) else value
