from __future__ import annotations

from copy import copy

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from register.models import Cable
from register.services import editing
from register.services.permissions import May
from register.web.cables.tables import CableTable, CoreTable
from register.web.changes import ChangeForm, change
from register.web.parts.lists import answer_list
from register.web.permissions import permitted


class CableForm(ChangeForm, forms.ModelForm):
    """A cable belongs to no one loop, so there is no revision to be behind of."""

    seen_revision = None
    work_order = None

    class Meta:
        model = Cable
        fields = (
            "name", "use", "designation", "cores", "csa_mm2", "length_m", "capacitance_pf_per_m", "inductance_uh_per_m",
            "temperature_max_c", "screened", "screen_earthed_at",
        )  # fmt: skip
        help_texts = {
            "designation": _("Of an extension cable: KX, KCA, JX …; of copper: copper."),
            "screen_earthed_at": _("Every place where the screen is earthed, parted by commas."),
        }


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    return answer_list(request, "cables/list.html", CableTable(Cable.objects.with_use()), name="cables")


@permitted(May.READ)
def detail(request: HttpRequest, name: str) -> HttpResponse:
    """A cable: its data sheet, and the links that run through its cores."""
    cable = get_object_or_404(Cable, name=name)
    table = CoreTable(cable.core_rows.select_related("link__source__tag", "link__target__tag").order_by("core", "pk"))
    shown = (field for field in Cable._meta.fields if field.name not in ("id", "name"))
    facts = [(field.verbose_name.capitalize(), getattr(cable, field.name)) for field in shown]
    context = {"cable": cable, "facts": facts}
    return answer_list(request, "cables/detail.html", table, name=f"cores of {cable}", context=context)


def _answer(request: HttpRequest, stored: Cable, *, title: str, said: str, back: str) -> HttpResponse:
    form = CableForm(request.POST or None, instance=copy(stored))

    def write() -> None:
        editing.save_cable(stored, form.facts, by=request.user, reason=form.cleaned_data["reason"])

    def done() -> str:
        return reverse("cables:detail", args=[stored.name])

    return change(request, form, write, loop=None, done=done, back=back, said=said, title=title)


@permitted(May.EDIT_REGISTER)
def create(request: HttpRequest) -> HttpResponse:
    return _answer(request, Cable(), title=_("New cable"), said=_("The cable was added."), back=reverse("cables:list"))


@permitted(May.EDIT_REGISTER)
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    stored = get_object_or_404(Cable, pk=pk)
    said = _("%(stored)s was corrected, and the loops through it were checked again.") % {"stored": stored}
    return _answer(
        request,
        stored,
        title=_("Correct %(stored)s") % {"stored": stored},
        said=said,
        back=reverse("cables:detail", args=[stored.name]),
    )
