from __future__ import annotations

import pytest
from django.core.management import call_command

from register.models import PlantSettings, User

pytestmark = pytest.mark.django_db

NEW = {"username": "rowan", "role": "technician", "password1": "kiln door at dawn", "password2": "kiln door at dawn"}


def changed(person, **facts):
    shown = {name: getattr(person, name) for name in ("username", "first_name", "last_name", "email", "role")}
    return shown | {"is_active": "on"} | facts


def test_an_administrator_adds_a_person_with_one_role(signed_in):
    signed_in("administrator").post("/admin/register/user/add/", NEW)

    rowan = User.objects.get(username="rowan")
    assert (rowan.role, rowan.is_staff, rowan.is_superuser) == ("technician", False, False)


def test_nobody_else_gets_in(signed_in):
    for role in ("planner", "technician", "auditor"):
        assert signed_in(role).post("/admin/register/user/add/", NEW).status_code == 302
    assert not User.objects.filter(username="rowan").exists()


def test_the_last_administrator_cannot_give_the_role_away(signed_in, person):
    administrator = person("administrator")
    page = signed_in("administrator").post(
        f"/admin/register/user/{administrator.pk}/change/", changed(administrator, role="auditor")
    )

    assert "Nobody would be left to administer the register" in page.content.decode()
    administrator.refresh_from_db()
    assert administrator.role == "administrator"


def test_a_person_is_made_inactive_and_never_deleted(signed_in, person):
    planner = person("planner")
    client = signed_in("administrator")
    facts = changed(planner)
    facts.pop("is_active")
    client.post(f"/admin/register/user/{planner.pk}/change/", facts)

    planner.refresh_from_db()
    assert not planner.is_active
    assert client.post(f"/admin/register/user/{planner.pk}/delete/", {"post": "yes"}).status_code == 403


LEVELS = {
    f"service_level_{criticality}_percent": level
    for criticality, level in (("safety", 99), ("environment", 98), ("production", 95), ("routine", 90))
}


def test_there_is_one_row_of_plant_settings(signed_in):
    client = signed_in("administrator")
    client.post("/admin/register/plantsettings/add/", {"name": "Works", "currency": "EUR", "paper": "A3"} | LEVELS)

    assert PlantSettings.objects.get().paper == "A3"
    assert client.get("/admin/register/plantsettings/add/").status_code == 403


def test_the_first_administrator_comes_from_the_command_line(monkeypatch):
    monkeypatch.setenv("DJANGO_SUPERUSER_PASSWORD", "kiln door at dawn")
    call_command("createsuperuser", "--no-input", "--username", "first", "--email", "first@example.org")

    assert User.objects.get(username="first").role == "administrator"
