from __future__ import annotations

import hashlib
from datetime import date

import pytest
from django.db.models import Max
from django.utils import timezone

from register.models import Finding, Installation, Loop, Revision, Tag
from register.plant.invented import Plant
from register.services.checking import check_plant
from register.services.history import verify_history
from register.services.making import make_plant
from register.services.recording import Refused

pytestmark = pytest.mark.django_db


def test_a_made_plant_has_its_faults_at_known_places_and_no_others(person):
    plant = Plant(400, 3, timezone.localdate())
    assert list(make_plant(plant, by=person("planner")))[-1] == 400

    list(check_plant())

    put_in = {found for use in plant.uses() for found in use.found}
    assert len({rule for rule, _ in put_in}) >= 8
    assert set(Finding.objects.open().values_list("rule", "subject")) == put_in
    assert Tag.objects.count() == pytest.approx(5 * 400, rel=0.1)


def test_the_history_of_a_made_plant_verifies_and_goes_back_two_years(person):
    today = timezone.localdate()
    list(make_plant(Plant(40, 2, today), by=person("planner")))

    walked = verify_history()

    assert (walked.faults, walked.loops) == ([], 40)
    assert walked.revisions > 80
    first, last = Revision.objects.order_by("at").first(), Revision.objects.order_by("at").last()
    assert (today - first.at.date()).days == 730
    assert last.at.date() < today
    assert Installation.objects.filter(to_date__isnull=False).exists()


def test_the_same_seed_makes_the_same_plant():
    """Two plants are alike where every loop has the same number, area and recorded history."""

    def digest(seed):
        plant = Plant(60, seed, date(2026, 5, 1))
        said = [(use.numbers, use.area, use.minute, use.found, use.typical.steps) for use in plant.uses()]
        return hashlib.sha256(repr((said, list(plant.stock()))).encode()).hexdigest()

    assert digest(5) == digest(5)
    assert digest(5) != digest(6)


def test_a_plant_is_made_in_an_empty_register_only(person):
    list(make_plant(Plant(3, 1, date(2026, 5, 1)), by=person("planner")))

    with pytest.raises(Refused, match="in an empty database"):
        list(make_plant(Plant(3, 1, date(2026, 5, 1)), by=person("planner")))

    assert Loop.objects.count() == 3


def test_keys_go_on_after_what_was_written_past_the_orm(person):
    list(make_plant(Plant(3, 1, date(2026, 5, 1)), by=person("planner")))
    last = Loop.objects.aggregate(last=Max("pk"))["last"]

    again = Loop.objects.create(number="T-1", area=Loop.objects.first().area)

    assert again.pk == last + 1
