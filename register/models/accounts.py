from __future__ import annotations

from enum import StrEnum

from django.contrib.auth.models import AbstractUser
from django.contrib.auth.models import UserManager as DjangoUserManager

from register.models.fields import word_field


class UserRole(StrEnum):
    PLANNER = "planner"
    TECHNICIAN = "technician"
    AUDITOR = "auditor"
    ADMINISTRATOR = "administrator"


class UserManager(DjangoUserManager):
    def create_superuser(self, username, email=None, password=None, **extra):
        """The first administrator, from the command line."""
        return super().create_superuser(username, email, password, **{"role": UserRole.ADMINISTRATOR, **extra})


class User(AbstractUser):
    """A person with one role. What each role may do stands in register.services.permissions."""

    role = word_field(UserRole, default=UserRole.AUDITOR)

    objects = UserManager()

    @property
    def display_name(self) -> str:
        return self.get_full_name() or self.username
