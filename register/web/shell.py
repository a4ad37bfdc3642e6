"""What every page shows around its content: the plant's name, and the display that this person chose."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from register.models import PlantSettings

DISPLAY = {
    "theme": {
        "device": _("As the device"),
        "light": _("Light"),
        "dark": _("Dark"),
        "sunlight": _("Sunlight"),
    },
    "keys": {
        "on": _("On"),
        "off": _("Off"),
    },
    settings.LANGUAGE_COOKIE_NAME: dict(settings.LANGUAGES),
}
"""The cookies that keep how somebody wants the pages shown: their values, the first the one without a cookie."""


def display_of(request: HttpRequest) -> dict[str, str]:
    """The chosen value of each display setting; the language without a cookie is what the browser asks for."""
    return {
        name: request.COOKIES[name] if request.COOKIES.get(name) in values else next(iter(values))
        for name, values in DISPLAY.items()
    } | {settings.LANGUAGE_COOKIE_NAME: get_language()}


def shell(request: HttpRequest) -> dict[str, object]:
    """Context of every page; the plant's name costs its query only where a template shows it."""
    return {
        "plant_name": SimpleLazyObject(lambda: PlantSettings.objects.values_list("name", flat=True).first() or ""),
        "display": display_of(request),
        "display_choices": DISPLAY,
    }
