"""Who may sign in, and as what; the plant's own settings."""

from __future__ import annotations

from register.models import PlantSettings, User, UserRole
from register.services.permissions import May, require
from register.services.recording import Refused


def save_person(person: User, *, by: User) -> User:
    """Add or change a person. Only administrators reach the administration pages.

    Raises Refused where nobody would be left to administer the register.
    """
    require(by, May.ADMINISTER)
    administers = person.role == UserRole.ADMINISTRATOR
    if not (administers and person.is_active) and not another_administrator(person):
        raise Refused(NOBODY_LEFT, field="role")
    person.is_staff = person.is_superuser = administers
    person.save()
    return person


NOBODY_LEFT = "Nobody would be left to administer the register. Give another person the role first."


def another_administrator(person: User) -> bool:
    """Whether somebody else can administer the register."""
    others = User.objects.filter(role=UserRole.ADMINISTRATOR, is_active=True)
    return others.exclude(pk=person.pk).exists()


def save_plant_settings(settings: PlantSettings, *, by: User) -> PlantSettings:
    """Set the plant's name, its currency, the paper that sheets are printed on, and the service levels of spares."""
    require(by, May.ADMINISTER)
    settings.full_clean()
    settings.save()
    return settings
