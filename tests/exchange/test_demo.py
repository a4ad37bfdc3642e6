"""The demo plant: most of it right, and every rule broken somewhere on purpose."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta

import pytest
from django.utils import timezone

from register.exchange import demo
from register.exchange.demo import load_demo
from register.exchange.reading import read_workbook
from register.models import Calibration, Finding, Loop, Revision
from register.rules.engine import all_rules

EXPECTED = {
    "A-410": {"remote-set-point-without-input"},
    "L-407": {"ends-scaled-differently"},
    "T-406": {"input-not-taken"},
    "T-409": {"sensor-and-input-differ"},
    "M-203": {"output-without-board"},
    "M-204": {"board-not-taken-by-bay", "output-without-board"},
    "P-232": {"two-wire-supply-not-one"},
    "T-214": {"set-point-limits-outside-range"},
    "T-312": {"remote-set-point-scaled-differently"},
    "A-106": {"live-zero-differs"},
    "A-107": {"alarm-drives-nothing"},
    "P-112": {"alarm-outside-range"},
    "T-105": {"heat-and-cool-with-one-output"},
    "T-111": {"tag-letters-do-not-fit"},
}


@pytest.fixture
def larkwater(person):
    load_demo(by=person("planner"))


@pytest.mark.django_db
def test_the_loops_broken_on_purpose_have_their_findings_and_the_others_none(larkwater):
    found = defaultdict(set)
    for loop, rule in Finding.objects.open().values_list("loop__number", "rule"):
        found[loop].add(rule)
    assert found == EXPECTED


@pytest.mark.django_db
def test_every_rule_fires_in_the_demo(larkwater):
    fired = set(Finding.objects.open().filter(unknown=False).values_list("rule", flat=True))
    assert fired == set(all_rules())


@pytest.mark.django_db
def test_most_of_the_plant_is_right(larkwater):
    assert Loop.objects.count() >= 60
    assert len(EXPECTED) < Loop.objects.count() / 2


@pytest.mark.django_db
def test_a_register_that_holds_loops_is_left_as_it_is(larkwater, person):
    Loop.objects.filter(number="L-101").update(service="changed by hand")
    load_demo(by=person("planner"))
    assert Loop.objects.get(number="L-101").service == "changed by hand"
    assert not Revision.objects.filter(number=2).exists()


@pytest.mark.django_db
def test_dates_are_moved_to_now_so_that_nothing_falls_due_by_itself(person, monkeypatch):
    ten_years = timedelta(days=3650)
    monkeypatch.setattr(demo, "WRITTEN_ON", timezone.localdate() - ten_years)
    load_demo(by=person("planner"))
    rows = read_workbook(demo.WORKBOOK.read_bytes()).sheets[Calibration].rows
    written = {(row.facts["tag__name"], row.facts["on"]) for row in rows}
    moved = Calibration.objects.values_list("tag__name", "on")
    assert {(tag, day - ten_years) for tag, day in moved} == written
