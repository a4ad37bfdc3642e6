from __future__ import annotations

from collections.abc import Callable

from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import Tag
from register.models.reach import (
    LoopReached,
    when_board_fails,
    when_bus_fails,
    when_cable_fails,
    when_tag_fails,
    when_terminal_fails,
)


class FailureForm(forms.Form):
    """What fails: a tag, the board in a bay of it, a cable, a bus, or a terminal at a place."""

    tag = forms.CharField(required=False)
    bay = forms.CharField(required=False, label=_("Bay, for a board alone"))
    cable = forms.CharField(required=False)
    bus = forms.CharField(required=False)
    place = forms.CharField(required=False, label=_("Terminals at"))
    terminal = forms.CharField(required=False, label=_("Terminal"))

    WHOLE = (("tag",), ("tag", "bay"), ("cable",), ("bus",), ("place", "terminal"))

    def clean_tag(self) -> Tag | None:
        name = self.cleaned_data["tag"]
        if not name:
            return None
        try:
            return Tag.objects.get(name__iexact=name, retired_on__isnull=True)
        except Tag.DoesNotExist:
            raise forms.ValidationError(_("There is no tag %(name)s.") % {"name": name}) from None

    def clean(self) -> dict:
        cleaned = super().clean()
        if not self.errors and self.given and self.given not in self.WHOLE:
            raise forms.ValidationError(
                _("Give one thing: a tag, a tag and a bay, a cable, a bus, or a place and a terminal.")
            )
        return cleaned

    @property
    def given(self) -> tuple[str, ...]:
        return tuple(name for name in self.fields if self.cleaned_data.get(name))

    def followed(self) -> tuple[str, list[LoopReached]]:
        """What fails, in words, and every loop that it touches."""
        facts = [self.cleaned_data[name] for name in self.given]
        said, follow = FOLLOWED[self.given]
        return said.format(*facts), follow(*facts)


FOLLOWED: dict[tuple[str, ...], tuple[str, Callable[..., list[LoopReached]]]] = {
    ("tag",): ("{} fails", when_tag_fails),
    ("tag", "bay"): ("the board in bay {1} of {0} fails", lambda tag, bay: when_board_fails(tag.pk, bay)),
    ("cable",): ("cable {} is cut", when_cable_fails),
    ("bus",): ("bus {} is down", when_bus_fails),
    ("place", "terminal"): ("terminal {1} at {0} comes loose", when_terminal_fails),
}
