import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from register.models import Loop
from register.plant import sketch
from tests import factories

SEARCH = reverse("search")


@pytest.fixture
def plant(db):
    factories.loop(sketch.temperature_loop("101"))
    factories.loop(sketch.pressure_loop("201"))
    factories.asset("A900", sketch.controller_model(), serial="55-100")


def groups(response) -> dict[str, list[str]]:
    return {group.heading: [hit.name for hit in group.hits] for group in response.context["groups"]}


@pytest.mark.parametrize(
    ("words", "url"),
    [
        ("PIC-201", "/panel/PIC-201/"),
        ("pic-2", "/panel/PIC-201/"),
        ("header pressure", "/loops/P-201/"),
        ("5-10", "/assets/A900/"),
        ("a900", "/assets/A900/"),
        (" A900 ", "/assets/A900/"),
    ],
)
def test_the_only_hit_is_opened_at_once(plant, signed_in, words, url):
    assert signed_in("technician").get(SEARCH, {"q": words}).headers["Location"] == url


def test_a_planner_gets_the_whole_of_a_tag(plant, signed_in):
    assert signed_in("planner").get(SEARCH, {"q": "PIC-201"}).headers["Location"] == "/tags/PIC-201/"


def test_a_model_is_opened_at_once_though_many_assets_are_of_it(plant, signed_in):
    assert signed_in("technician").get(SEARCH, {"q": "regent"}).headers["Location"].startswith("/catalogue/")


def test_several_hits_stand_by_kind(plant, signed_in):
    page = signed_in("technician").get(SEARCH, {"q": "-201"})
    assert groups(page) == {"Tags": ["PIC-201", "PT-201", "PV-201"], "Loops": ["P-201"]}


def test_a_serial_number_says_where_the_asset_stands(plant, signed_in):
    page = signed_in("technician").get(SEARCH, {"q": "SA101"})
    assert groups(page) == {"Assets": ["A1011", "A1012", "A1013"]}
    assert "Fennel Row Regent 96, serial SA1012, at TIC-101" in page.content.decode()


def test_what_is_retired_is_found_and_marked(plant, signed_in):
    Loop.objects.filter(number="P-201").update(retired_on="2025-01-07")
    page = signed_in("auditor").get(SEARCH, {"q": "-201"}).content.decode()
    assert "Steam header pressure, Works / Boiler house, retired" in page


def test_more_hits_than_shown_lead_to_the_list(plant, signed_in):
    for number in range(12):
        factories.asset(f"C{number}", sketch.valve_model(), serial=f"77-{number}")
    page = signed_in("technician").get(SEARCH, {"q": "77-"})
    assert len(groups(page)["Assets"]) == 10
    assert 'href="/assets/?q=77-"' in page.content.decode()


def test_nothing_found_says_what_to_try_and_keeps_the_words(plant, signed_in):
    page = signed_in("technician").get(SEARCH, {"q": "<zz>"}).content.decode()
    assert "Nothing is named so." in page
    assert 'value="&lt;zz&gt;"' in page


@pytest.mark.parametrize("query", [{}, {"q": ""}, {"q": "   "}])
def test_no_words_find_nothing_and_not_everything(plant, signed_in, query):
    page = signed_in("technician").get(SEARCH, query)
    assert groups(page) == {}
    assert "Type what you look for" in page.content.decode()


@pytest.mark.parametrize("words", ["%", "_", "'", "\\", "a" * 5000, "\x00"])
def test_odd_words_are_only_words(plant, signed_in, words):
    page = signed_in("technician").get(SEARCH, {"q": words})
    assert page.status_code == 200
    assert groups(page) == {}


def test_the_number_of_queries_does_not_grow_with_what_is_found(plant, signed_in):
    client = signed_in("technician")
    with CaptureQueriesContext(connection) as few:
        client.get(SEARCH, {"q": "-10"})
    factories.many_loops(5, first=2)
    with CaptureQueriesContext(connection) as many:
        client.get(SEARCH, {"q": "-10"})

    assert len(many) == len(few) <= 10
