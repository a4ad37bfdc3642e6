"""Saved views of lists."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from register.models import SavedView, ViewOf
from register.services.permissions import May
from register.services.views import change_view, remove_view, save_view
from register.web.permissions import permitted
from register.web.workbench.forms import ViewForm


def _address(of: str, query: str) -> str:
    return reverse(f"{of}:list") + (f"?{query}" if query else "")


@permitted(May.READ, post=May.READ)
def save(request: HttpRequest, of: str) -> HttpResponse:
    """Keep the list whose query this address has."""
    if of not in list(ViewOf):
        raise Http404(f"Nothing is called {of}.")
    query = request.GET.urlencode()
    view = SavedView(owner=request.user, of=of, query=query)
    return _answer(
        request,
        view,
        lambda name, shared: save_view(ViewOf(of), query, name=name, shared=shared, by=request.user),
        _("Save this view"),
    )


@permitted(May.READ, post=May.READ)
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Rename a view, share it or keep it to oneself, or remove it: what it lists stays as it is."""
    view = get_object_or_404(SavedView.objects.seen_by(request.user), pk=pk)
    if "remove" in request.POST:
        remove_view(view, by=request.user)
        messages.success(request, _("The view was removed."))
        return redirect(f"{view.of}:list")
    return _answer(
        request,
        view,
        lambda name, shared: change_view(view, name=name, shared=shared, by=request.user),
        str(view),
    )


def _answer(request: HttpRequest, view: SavedView, write: Callable[[str, bool], object], title: str) -> HttpResponse:
    back = _address(view.of, view.query)
    form = ViewForm(request.POST or None, instance=view, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            write(form.cleaned_data["name"], form.cleaned_data.get("shared", view.shared))
        except ValidationError as invalid:
            for field, said in invalid.message_dict.items():
                form.add_error(field if field in form.fields else None, said)
        else:
            messages.success(request, _("The view was saved."))
            return redirect(back)
    return render(request, "workbench/view.html", {"form": form, "view": view, "title": title, "back": back})
