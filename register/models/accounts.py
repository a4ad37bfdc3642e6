from __future__ import annotations

from enum import StrEnum

from django.contrib.auth.models import AbstractUser

from register.models.fields import word_field


class UserRole(StrEnum):
    PLANNER = "planner"
    TECHNICIAN = "technician"
    AUDITOR = "auditor"
    ADMINISTRATOR = "administrator"


class User(AbstractUser):
    """A person with one role. What each role may do stands in register.services.permissions."""

    role = word_field(UserRole, default=UserRole.AUDITOR)

    @property
    def display_name(self) -> str:
        return self.get_full_name() or self.username
