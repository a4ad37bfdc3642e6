"""The register's main pages: the one list behind the navigation and the home page."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import NoReverseMatch, reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from register.models import User
from register.services.permissions import May, may


@dataclass(frozen=True)
class Destination:
    """A main page: the name of its address, what it is called, what one does there and what that needs."""

    url_name: str
    label: str | Promise
    purpose: str | Promise
    needs: May = May.READ

    @property
    def url(self) -> str | None:
        """The address; None until the page exists."""
        try:
            return reverse(self.url_name)
        except NoReverseMatch:
            return None


DESTINATIONS = (
    Destination("loops:list", _("Loops"), _("Find a loop by area, kind, criticality or any part of a tag.")),
    Destination("findings:list", _("Findings"), _("What is wrong across the plant, and how to put it right.")),
    Destination("completeness:list", _("Gaps"), _("What the record of each loop still lacks, and where.")),
    Destination("tags:list", _("Tags"), _("Every place in the plant where an instrument stands.")),
    Destination("assets:list", _("Assets"), _("Every instrument by serial number, where it is and where it was.")),
    Destination("calibrations:list", _("Calibrations"), _("What is due for calibration, and what each one said.")),
    Destination("cables:list", _("Cables"), _("Every cable, its length and screen, and what runs through it.")),
    Destination("catalogue:list", _("Catalogue"), _("The models, boards and bays that the plant uses.")),
    Destination("spares:list", _("Spares"), _("What is installed, what the store holds and what is short.")),
    Destination("packs:list", _("Packs"), _("Sheets of many loops in one file that can be verified later.")),
    Destination("audit:page", _("Audit"), _("Of a day: the sheets, who changed what and why, what was open.")),
    Destination("rules:list", _("Rules"), _("What the register checks, why, and on which authority.")),
    Destination("calculators:home", _("Calculators"), _("Ranges, signals, sensors and loop supplies, worked out.")),
    Destination("exchange:upload", _("Import"), _("Bring the plant's spreadsheets in."), May.IMPORT),
)


def destinations_for(user: User) -> list[Destination]:
    """The pages that exist and that this person's role opens."""
    return [one for one in DESTINATIONS if may(user, one.needs) and one.url]
