from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, settings

pytest_plugins = ["tests.browser", "tests.pdf"]

# The same examples on every run, and no time limit, which a busy machine would break.
settings.register_profile(
    "ci", derandomize=True, max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("ci")


@pytest.fixture
def person(db) -> Callable:
    """Gives the person with a role (planner, technician, auditor, administrator), made when first asked for."""
    from register.models import User, UserRole

    def person(role: str) -> User:
        role = UserRole(role)
        administers = role == UserRole.ADMINISTRATOR
        made, _ = User.objects.get_or_create(
            username=role, defaults={"role": role, "is_staff": administers, "is_superuser": administers}
        )
        return made

    return person


@pytest.fixture
def signed_in(person) -> Callable:
    """Gives Django's test client with the person of a role signed in."""
    from django.test import Client

    def signed_in(role: str) -> Client:
        client = Client()
        client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
        return client

    return signed_in
