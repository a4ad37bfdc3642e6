from __future__ import annotations

from urllib.parse import urlencode

from django.conf import settings
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse
from django_htmx.http import HttpResponseClientRedirect


class SignInRequiredMiddleware(LoginRequiredMiddleware):
    """Every page is behind sign-in unless its view says ``login_not_required``.

    A part of a page that is asked for after the session has ended sends the whole page to sign in, and back to where it
    was: otherwise the sign-in form would appear inside a table.
    """

    def handle_no_permission(self, request: HttpRequest, view_func) -> HttpResponse:
        if request.htmx:
            where = urlencode({"next": request.htmx.current_url_abs_path or "/"})
            return HttpResponseClientRedirect(f"{settings.LOGIN_URL}?{where}")
        return super().handle_no_permission(request, view_func)
