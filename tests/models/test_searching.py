"""Search by any part of a name: the same on both databases, where few rows match and where many do."""

import pytest
from django.core.management import call_command
from django.db import connection

from register.models import Installation, Loop, Tag, searching
from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture(params=[1000, 1], ids=["few match", "many match"])
def plant(request, monkeypatch):
    """Two loops; searched with room for all that match, and as if one were already many."""
    monkeypatch.setattr(searching, "MOST", request.param)
    factories.loop(sketch.temperature_loop("101"), service='Kessel Überlauf 100 % "B"')
    factories.loop(sketch.pressure_loop("201"), service="Steam header_pressure")


def loops(words: str) -> list[str]:
    return [one.number for one in Loop.objects.matching(words)]


def tags(words: str) -> list[str]:
    return [one.name for one in Tag.objects.matching(words)]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("IC-2", ["P-201"]),
        ("ic-101", ["T-101"]),
        (" sa101 ", ["T-101"]),
        ("HEADER_", ["P-201"]),
        ("0%", []),
        ("0_%", []),
        ("100 %", ["T-101"]),
        ('"b"', ["T-101"]),
        ("-10' OR", []),
        ("-", []),
        ("t", ["T-101"]),
        ("ti", ["T-101"]),
        ("ic", []),
        ("", ["P-201", "T-101"]),
        ("201", ["P-201"]),
        ("01", []),
    ],
)
def test_any_part_finds_a_loop_and_fewer_than_three_characters_its_beginning(plant, words, found):
    assert loops(words) == found


def test_letters_beyond_ascii_are_found_in_either_case(plant, monkeypatch):
    monkeypatch.setattr(searching, "MOST", 1000)
    assert loops("überl") == loops("ÜBERL") == ["T-101"]


def test_a_tag_is_found_by_its_description_and_by_what_is_installed_now(plant):
    Tag.objects.filter(name="PT-201").update(description="Behind the deaerator")

    assert tags("deaer") == ["PT-201"]
    assert tags("SA1012") == ["TIC-101"]
    Installation.objects.filter(tag__name="TIC-101").update(to_date="2026-01-01")
    assert tags("SA1012") == []


def test_the_index_follows_what_is_renamed_and_deleted(plant):
    loop = factories.loop(sketch.temperature_loop("301"))
    assert loops("T-301") == ["T-301"]
    Loop.objects.filter(pk=loop.pk).update(number="T-999")
    assert (loops("T-301"), loops("T-99")) == ([], ["T-999"])
    Loop.objects.filter(number="P-201").update(service="Condensate")
    assert (loops("HEADER_"), loops("densa")) == ([], ["P-201"])


@pytest.mark.skipif("connection.vendor != 'sqlite'")
def test_an_index_that_lost_its_triggers_is_made_anew_by_the_next_migration(plant, monkeypatch):
    monkeypatch.setattr(searching, "MOST", 1000)
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER register_loop_words_changed")
    Loop.objects.filter(number="P-201").update(service="Condensate")
    call_command("migrate", verbosity=0)
    assert loops("densa") == ["P-201"]
