"""Who may open a page and who may send a form to it: one decorator, on every view."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed

from register.services.permissions import May, NotAllowed, require

READING = ("GET", "HEAD")


def permitted(needs: May, *, post: May | None = None) -> Callable[[Callable], Callable]:
    """Let only those in who may do what the page is for; ``post`` where sending its form takes something else.

    A page that only shows the register takes no form at all, unless ``post`` says so. Whoever may not gets the 403
    page, which says who may; that somebody has signed in is seen to before the view.
    """
    sending = post or (None if needs == May.READ else needs)

    def decorate(view: Callable) -> Callable:
        @wraps(view)
        def guarded(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
            reading = request.method in READING
            if not reading and (sending is None or request.method != "POST"):
                return HttpResponseNotAllowed([*READING, "POST"] if sending else READING)
            try:
                require(request.user, needs if reading else sending)
                return view(request, *args, **kwargs)
            except NotAllowed as refusal:
                raise PermissionDenied(str(refusal)) from refusal

        return guarded

    return decorate
