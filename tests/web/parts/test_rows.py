"""The table's body against django-tables2's own cells and attributes for the same table."""

import re
from datetime import UTC, date, datetime
from decimal import Decimal

import django_tables2 as tables
import pytest
from django.contrib.admin.models import ADDITION, CHANGE, LogEntry
from django.contrib.contenttypes.models import ContentType
from django.template import Context, Template
from django.utils import translation
from django.utils.formats import localize
from django.utils.html import conditional_escape
from django.utils.timezone import template_localtime

from register.models import User


class EveryKind(tables.Table):
    name = tables.Column(linkify=lambda record: f"/tags/{record['name']}/")
    shout = tables.Column(accessor="name")
    maker = tables.Column(accessor="model__maker", default="nobody")
    low = tables.Column(attrs={"td": {"class": "num", "data-low": lambda value: value}})
    on = tables.Column()
    at = tables.Column()
    whole = tables.Column(empty_values=(), accessor="missing")
    template = tables.TemplateColumn("<b>{{ record.name }}</b>", orderable=False)

    def render_shout(self, value, column, bound_column):
        return f"{value.upper()} & {bound_column.name}"

    def render_whole(self, record):
        return len(record)

    class Meta:
        row_attrs = {"data-name": lambda record: record["name"]}


ROWS = [
    {
        "name": "TIC-1203",
        "model": {"maker": "<Brook & Dale>"},
        "low": Decimal("-12.50"),
        "on": date(2026, 3, 4),
        "at": datetime(2026, 3, 4, 23, 30, tzinfo=UTC),
    },
    {"name": "PT-2107", "model": None, "low": None, "on": None, "at": None},
]


def shown(table: tables.Table, request) -> str:
    return Template("{% load django_tables2 %}{% render_table table %}").render(
        Context({"table": table, "request": request})
    )


def cells(html: str) -> list[list[str]]:
    body = html[html.index("<tbody") : html.index("</tbody>")]
    found = [re.findall(r"<t[hd]\b[^>]*>(.*?)</t[hd]>", row, re.DOTALL) for row in re.findall(r"<tr.*?</tr>", body)]
    return [[re.sub(r'^<span class="empty">(.*)</span>$', r"\1", cell) for cell in row] for row in found]


def library_cells(table: tables.Table) -> list[list[str]]:
    def text(cell) -> str:
        return conditional_escape(cell if isinstance(cell, str) else localize(template_localtime(cell)))

    return [[text(cell) for _, cell in row.items()] for row in table.paginated_rows]


@pytest.mark.parametrize("language", ["en-gb", "de"])
def test_every_way_to_declare_a_column_shows_what_the_library_shows(rf, language):
    with translation.override(language):
        table = EveryKind(ROWS)
        html = shown(table, rf.get("/"))
        table.context = Context()
        assert cells(html) == library_cells(table)
        assert len(cells(html)[0]) == 8


def test_attributes_of_rows_and_cells_may_depend_on_the_record(rf):
    html = shown(EveryKind(ROWS), rf.get("/"))
    assert 'data-name="TIC-1203"' in html
    assert 'class="num" data-low="-12.50"' in html


def test_every_cell_carries_its_heading_and_the_first_heads_its_row(rf):
    html = shown(EveryKind(ROWS), rf.get("/"))
    assert html.count('<th scope="row" role="rowheader" data-label="Name"') == 2
    assert html.count('<td role="cell" data-label="Maker"') == 2


class EntryTable(tables.Table):
    class Meta:
        model = LogEntry
        fields = ("object_repr", "action_flag", "user")


def test_model_columns_show_the_words_of_choices_in_two_queries(rf, person, django_assert_num_queries):
    kind = ContentType.objects.get_for_model(User)
    for flag in (ADDITION, CHANGE) * 5:
        LogEntry.objects.create(
            user=person("administrator"), content_type=kind, object_repr="<b>", action_flag=flag, change_message=""
        )
    table = EntryTable(LogEntry.objects.select_related("user").order_by("pk"))
    with django_assert_num_queries(2):
        table.paginate(per_page=4)
        html = shown(table, rf.get("/"))
    assert cells(html) == [
        ["&lt;b&gt;", word, "administrator"] for word in ("Addition", "Change", "Addition", "Change")
    ]
    assert "1 to 4 of 10" in html


def test_a_list_of_nothing_says_what_to_do_instead_of_an_empty_table(rf):
    html = shown(EveryKind([], empty_text="No tag matches. Take a filter away."), rf.get("/"))
    assert "No tag matches. Take a filter away." in html
    assert "<table" not in html


def test_headings_sort_back_to_the_first_page_and_say_which_way_they_sort(rf):
    request = rf.get("/?page=2&q=a&sort=-low")
    table = EveryKind(ROWS, order_by="-low")
    html = shown(table, request)
    assert 'aria-sort="descending"' in html
    assert '<a href="?q=a&amp;sort=low">Low</a>' in html
    assert '<a href="?q=a&amp;sort=name">Name</a>' in html
