"""Signing in, the own password, and how the pages are shown."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, PasswordChangeView
from django.contrib.messages.views import SuccessMessageMixin
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse_lazy
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST

from register.web.accounts.forms import SignInForm
from register.web.shell import DISPLAY


class SignIn(LoginView):
    template_name = "accounts/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True


class ChangePassword(SuccessMessageMixin, PasswordChangeView):
    template_name = "accounts/password.html"
    success_url = reverse_lazy("home")
    success_message = _("Your password is changed. Other devices on which you were signed in are signed out.")


@login_not_required
@require_POST
def display(request: HttpRequest) -> HttpResponse:
    """Keep a display setting in a cookie for a year. Without scripts the page comes back; with them it never leaves."""
    back = request.POST.get("next", "")
    response = redirect(back if url_has_allowed_host_and_scheme(back, {request.get_host()}) else "home")
    for name, values in DISPLAY.items():
        if request.POST.get(name) in values:
            response.set_cookie(
                name,
                request.POST[name],
                max_age=365 * 24 * 60 * 60,
                samesite="Lax",
                secure=settings.SESSION_COOKIE_SECURE,
            )
    return response
