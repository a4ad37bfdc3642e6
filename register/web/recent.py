"""The tags that a person opened last, kept in a cookie of their browser: a glance, not a record."""

from __future__ import annotations

from urllib.parse import quote, unquote

from django.http import HttpRequest, HttpResponse

COOKIE = "recent-tags"
KEPT = 8
LASTS_S = 90 * 24 * 60 * 60


def recent_tags(request: HttpRequest) -> list[str]:
    """Names as the cookie has them, the last opened first; nothing says that these tags exist."""
    return [unquote(name) for name in request.COOKIES.get(COOKIE, "").split(" ") if name][:KEPT]


def remember_tag(request: HttpRequest, response: HttpResponse, name: str) -> HttpResponse:
    """Note on a tag's page that it was opened, not only fetched to be kept."""
    if request.headers.get("Purpose") == "prefetch":
        return response
    names = [name, *(one for one in recent_tags(request) if one != name)][:KEPT]
    kept = " ".join(quote(one, safe="") for one in names)
    response.set_cookie(COOKIE, kept, max_age=LASTS_S, httponly=True, samesite="Lax", secure=request.is_secure())
    return response
