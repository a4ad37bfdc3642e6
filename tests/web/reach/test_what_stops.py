import pytest
from django.urls import reverse
from msgspec.structs import replace

from register.plant import sketch
from register.plant.values import SerialLine
from tests import factories

PAGE = reverse("reach:what_stops")


@pytest.fixture
def plant(db):
    loop = sketch.with_settings(sketch.temperature_loop("101"), "TIC-101", serial=SerialLine(bus="Bus 1", address=3))
    factories.loop(replace(loop, criticality="safety"))


@pytest.mark.parametrize(
    ("query", "heading", "effect"),
    [
        ({"tag": "te-101"}, "when TE-101 fails", "loses its measurement from TE-101"),
        ({"tag": "TIC-101", "bay": "1"}, "when the board in bay 1 of TIC-101 fails", "loses Output 1 in bay 1"),
        ({"cable": "C-1012"}, "when cable C-1012 is cut", "loses its control from TIC-101"),
        ({"bus": "Bus 1"}, "when bus Bus 1 is down", "is no longer heard on Bus 1"),
        ({"place": "TIC-101", "terminal": "Input 1"}, "when terminal Input 1 at TIC-101 comes loose", "measurement"),
    ],
)
def test_each_kind_of_failure_is_followed(plant, signed_in, query, heading, effect):
    page = signed_in("technician").get(PAGE, query)
    text = page.content.decode()
    assert heading in text
    assert effect in text
    assert [one.loop.number for one in page.context["reached"]] == ["T-101"]


def test_a_failure_that_touches_nothing_says_so(plant, signed_in):
    assert "No loop is touched." in signed_in("auditor").get(PAGE, {"cable": "C-999"}).content.decode()


def test_nothing_given_asks_what_fails(plant, signed_in):
    assert "Say what fails." in signed_in("auditor").get(PAGE).content.decode()


@pytest.mark.parametrize(
    ("query", "complaint"),
    [
        ({"tag": "TIC-999"}, "There is no tag TIC-999."),
        ({"bay": "1"}, "Give one thing"),
        ({"place": "JB-1"}, "Give one thing"),
        ({"tag": "TE-101", "cable": "C-1012"}, "Give one thing"),
        ({"cable": "\x00"}, "Null characters are not allowed"),
    ],
)
def test_what_is_not_one_thing_is_refused(plant, signed_in, query, complaint):
    page = signed_in("auditor").get(PAGE, query)
    assert complaint in page.content.decode()
