"""The addresses of the register, and beside them the least that would show the same rows."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import include, path

TABLE = """{% extends "base.html" %}
{% block title %}{{ title }}{% endblock %}{% block heading %}{{ title }}{% endblock %}
{% block content %}<table class="table"><thead><tr>{% for one in headings %}<th scope="col">{{ one }}</th>{% endfor %}
</tr></thead><tbody>{% for row in rows %}<tr><th scope="row"><a href="/{{ title }}/{{ row.0 }}/">{{ row.0 }}</a></th>
{% for cell in row.1 %}<td>{{ cell }}</td>{% endfor %}</tr>{% endfor %}</tbody></table>{% endblock %}"""
EMPTY = '{% extends "base.html" %}{% block content %}{% endblock %}'

LOOPS = (
    "SELECT l.number, l.service, a.path, l.kind, l.criticality, l.open_errors, l.open_warnings, l.open_advice, "
    "l.open_unknowns, l.revision FROM register_loop l JOIN register_area a ON a.id = l.area_id "
    "WHERE l.retired_on IS NULL"
)
TAGS = (
    "SELECT t.name, t.role, t.description, l.number, a.path, t.location, m.maker, m.name, s.serial "
    "FROM register_tag t JOIN register_loop l ON l.id = t.loop_id JOIN register_area a ON a.id = l.area_id "
    "LEFT JOIN register_installation i ON i.tag_id = t.id AND i.to_date IS NULL "
    "LEFT JOIN register_asset s ON s.id = i.asset_id LEFT JOIN register_cataloguemodel m ON m.id = s.model_id "
    "WHERE t.retired_on IS NULL"
)


@dataclass(frozen=True)
class Floor:
    """A list as one raw query gives it: the list, what narrows it with its values, its order."""

    of: str
    narrowed: str
    order: str
    values: tuple[object, ...] = ()

    def rows(self) -> list[tuple[str, tuple]]:
        query = f"{LOOPS if self.of == 'loops' else TAGS} {self.narrowed} ORDER BY {self.order} LIMIT 50"
        with connection.cursor() as cursor:
            cursor.execute(query, self.values)
            return [(name, cells) for name, *cells in cursor.fetchall()]


def with_words(words: str) -> tuple[str, tuple[object, ...]]:
    """What narrows loops to those with a tag whose name holds some words, through the database's index."""
    if connection.vendor == "postgresql":
        return (
            "AND l.id IN (SELECT loop_id FROM register_tag WHERE upper(name) LIKE upper(%s))",
            (f"%{words}%",),
        )
    found = "SELECT rowid FROM register_tag_words WHERE register_tag_words MATCH %s"
    return f"AND l.id IN (SELECT loop_id FROM register_tag WHERE id IN ({found}))", (f'name : "{words}"',)


def floors(area: int, kind: str, words: str) -> dict[str, Floor]:
    narrowed, values = with_words(words)
    return {
        "first": Floor("loops", "", "l.number"),
        "last": Floor("loops", "", "l.number DESC"),
        "filtered": Floor("loops", "AND l.area_id = %s AND l.kind = %s", "l.number", (area, kind)),
        "searched": Floor("loops", narrowed, "l.number", values),
        "tags": Floor("tags", "", "t.name"),
    }


def floor(request: HttpRequest, name: str) -> HttpResponse:
    """The same rows by a hand-written template from one raw query, in the same frame."""
    one = floors(int(request.GET.get("area", 0)), request.GET.get("kind", ""), request.GET.get("q", ""))[name]
    rows = one.rows()
    headings = range(len(rows[0][1]) + 1) if rows else ()
    return _page(request, TABLE, {"title": one.of, "headings": headings, "rows": rows})


def empty(request: HttpRequest) -> HttpResponse:
    return _page(request, EMPTY, {})


_made: dict[str, object] = {}


def _page(request: HttpRequest, source: str, context: dict) -> HttpResponse:
    template = _made.get(source) or _made.setdefault(source, engines["django"].from_string(source))
    return HttpResponse(template.render(context, request))


urlpatterns = [
    path("floor/empty/", empty),
    path("floor/<str:name>/", floor),
    path("", include("register.urls")),
]
