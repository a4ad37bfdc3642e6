"""Pages that only read may read a replica of the database; whoever has just written reads what was written.

The setting REPLICA_DATABASE_URL switches it on. Background work and everything that writes keep to the primary.
"""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar

from django.http import HttpRequest, HttpResponse

WROTE = "wrote"
BEHIND_S = 30
"""For so long after a person's own write their pages read the primary: longer than a replica should be behind."""

_reads: ContextVar[str] = ContextVar("reads", default="default")


class Router:
    def db_for_read(self, model, **hints) -> str:
        return _reads.get()

    def db_for_write(self, model, **hints) -> str:
        return "default"

    def allow_relation(self, one, other, **hints) -> bool:
        return True

    def allow_migrate(self, db: str, app_label: str, **hints) -> bool:
        return db == "default"


class ReplicaMiddleware:
    """Stands before whatever reads the database, the session among it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        only_reads = request.method in ("GET", "HEAD") and WROTE not in request.COOKIES
        reading = _reads.set("replica" if only_reads else "default")
        try:
            response = self.get_response(request)
        finally:
            _reads.reset(reading)
        if request.method not in ("GET", "HEAD", "OPTIONS"):
            response.set_cookie(WROTE, "1", max_age=BEHIND_S, httponly=True, samesite="Lax", secure=request.is_secure())
        return response
