"""How somebody wants the pages shown, kept in cookies."""

import pytest


def test_the_theme_is_kept_for_a_year_and_set_on_every_page_that_follows(client, db):
    answer = client.post("/display/", {"theme": "sunlight", "next": "/sign-in/"})
    assert answer.url == "/sign-in/"
    assert answer.cookies["theme"]["max-age"] == 31_536_000
    assert 'data-theme="sunlight"' in client.get("/sign-in/").content.decode()


def test_an_unknown_theme_is_not_kept_and_one_that_was_slipped_in_is_not_used(client, db):
    assert "theme" not in client.post("/display/", {"theme": '"><script>'}).cookies
    client.cookies["theme"] = "purple"
    assert 'data-theme="device"' in client.get("/sign-in/").content.decode()


def test_the_way_back_never_leads_to_another_site(client, db):
    assert client.post("/display/", {"theme": "dark", "next": "//elsewhere.example/"}).url == "/"


@pytest.mark.parametrize(
    ("cookie", "browser", "language"),
    [("", "en-US,en;q=0.9", "en-gb"), ("", "de-AT,de;q=0.9", "de"), ("en-gb", "de", "en-gb"), ("xx", "fr", "en-gb")],
)
def test_the_language_is_the_one_chosen_else_the_browser_s_else_the_plant_s(client, db, cookie, browser, language):
    client.cookies["language"] = cookie
    page = client.get("/sign-in/", headers={"accept-language": browser}).content.decode()
    assert f'<html lang="{language}"' in page
    assert f'value="{language}" lang="{language}" aria-pressed="true"' in page
