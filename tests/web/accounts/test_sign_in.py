"""Signing in and out as a person meets it."""

import pytest
from django.test import Client

PASSWORD = "steep-germinate-kiln"


@pytest.fixture
def planner(person):
    user = person("planner")
    user.set_password(PASSWORD)
    user.save()
    return user


def sign_in(client: Client, password: str, username: str = "planner", **extra):
    return client.post("/sign-in/", {"username": username, "password": password, "next": "/"}, **extra)


def test_whoever_is_not_signed_in_is_asked_to_and_then_sent_where_they_wanted_to_go(client, planner):
    asked = client.get("/password/?a=1")
    assert asked.status_code == 302
    assert asked.url == "/sign-in/?next=/password/%3Fa%3D1"
    form = client.get(asked.url)
    assert 'name="next" value="/password/?a=1"' in form.content.decode()
    answer = client.post("/sign-in/", {"username": "planner", "password": PASSWORD, "next": "/password/?a=1"})
    assert answer.url == "/password/?a=1"


def test_a_part_of_a_page_asked_for_after_the_session_ended_sends_the_whole_page_to_sign_in(client, db):
    answer = client.get("/", headers={"HX-Request": "true", "HX-Current-URL": "http://testserver/password/?a=1"})
    assert answer.headers["HX-Redirect"] == "/sign-in/?next=%2Fpassword%2F%3Fa%3D1"


def test_sign_in_never_leads_to_another_site(client, planner):
    answer = client.post(
        "/sign-in/", {"username": "planner", "password": PASSWORD, "next": "https://elsewhere.example/"}
    )
    assert answer.url == "/"


def test_a_wrong_password_is_said_and_the_name_stays_typed(client, planner):
    page = sign_in(client, "wrong").content.decode()
    assert "The user name or the password is wrong." in page
    assert 'value="planner"' in page


def test_ten_wrong_passwords_pause_sign_in_from_there_for_that_name_alone(client, planner, person):
    technician = person("technician")
    technician.set_password(PASSWORD)
    technician.save()
    for _ in range(9):
        assert sign_in(client, "wrong").status_code == 200
    tenth = sign_in(client, "wrong")
    assert tenth.status_code == 429
    assert "wrong 10 times in a row" in tenth.content.decode()
    assert "no more tries are taken for 15 minutes" in tenth.content.decode()
    assert sign_in(client, PASSWORD).status_code == 429
    assert sign_in(client, PASSWORD, REMOTE_ADDR="192.0.2.7").status_code == 302
    assert sign_in(Client(), PASSWORD, username="technician").status_code == 302


def test_signing_out_takes_a_form_and_not_a_link(signed_in):
    client = signed_in("auditor")
    assert client.get("/sign-out/").status_code == 405
    assert client.post("/sign-out/").url == "/sign-in/"
    assert client.get("/").status_code == 302


def test_a_new_password_keeps_this_device_signed_in_and_signs_the_others_out(planner):
    here, elsewhere = Client(), Client()
    sign_in(here, PASSWORD)
    sign_in(elsewhere, PASSWORD)
    new = "malt-barley-larkwater"
    answer = here.post(
        "/password/", {"old_password": PASSWORD, "new_password1": new, "new_password2": new}, follow=True
    )
    assert answer.status_code == 200
    assert "Your password is changed." in answer.content.decode()
    assert elsewhere.get("/").status_code == 302
    assert sign_in(Client(), new).status_code == 302


def test_a_weak_new_password_is_refused_at_its_field(planner):
    client = Client()
    sign_in(client, PASSWORD)
    page = client.post(
        "/password/", {"old_password": PASSWORD, "new_password1": "12345678", "new_password2": "12345678"}
    ).content.decode()
    assert '<a href="#id_new_password2">' in page
    assert 'id="id_new_password2_error"' in page
    assert "at least 12 characters" in page
    assert sign_in(Client(), PASSWORD).status_code == 302


def test_a_form_from_before_signing_in_is_refused_in_plain_words(planner):
    client = Client(enforce_csrf_checks=True)
    answer = sign_in(client, PASSWORD)
    assert answer.status_code == 403
    assert "Form out of date" in answer.content.decode()
