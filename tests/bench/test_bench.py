"""The benchmark compares like with like; how long that takes is not asserted."""

from __future__ import annotations

import json

import pytest
from django.core.management import CommandError, call_command

from register.bench import engineering, rules
from register.models import Finding, Link, Loop, Port, Tag
from register.plant import sketch
from tests import factories


@pytest.mark.parametrize("comparison", list(engineering.comparisons()), ids=lambda of: of.what)
def test_both_ways_do_the_same_job(comparison):
    """Against thermocouple-its90 and rtd-sensor, to 1 µV, 1 mΩ and 1 mK."""
    assert comparison.ours() == pytest.approx(comparison.floor(), abs=1e-3)


def test_the_command_prints_medians_spreads_and_ratios_that_can_be_kept(capsys):
    call_command("bench", "engineering", "--rounds", "3", "--json")

    kept = json.loads(capsys.readouterr().out)
    for outcome in kept["outcomes"]:
        assert outcome["case"] == "engineering"
        assert outcome["ratio"] == pytest.approx(outcome["ours"]["median_s"] / outcome["floor"]["median_s"])
        assert 0 < outcome["ours"]["least_s"] <= outcome["ours"]["median_s"] <= outcome["ours"]["most_s"]


@pytest.fixture
def plant(person):
    factories.loop(sketch.temperature_loop("101"), by=person("planner"))
    factories.loop(sketch.cascade(source_range="0-250 degC"))


def test_checking_the_plant_and_a_loop_is_timed_and_leaves_no_trace(plant, capsys):
    found = set(Finding.objects.values_list("pk", "text", "cleared_at"))
    Finding.objects.filter(pk__in=[pk for pk, _, _ in found][:1]).delete()
    left = set(Finding.objects.values_list("pk", "text", "cleared_at"))
    checked = list(Loop.objects.values_list("checked_at", flat=True))

    call_command("bench", "rules", "--rounds", "3")

    printed = capsys.readouterr().out
    assert printed.count("  ratio ") == 2
    assert f"{Loop.objects.count()} loops, " in printed
    assert set(Finding.objects.values_list("pk", "text", "cleared_at")) == left
    assert list(Loop.objects.values_list("checked_at", flat=True)) == checked


def test_the_driver_alone_reads_every_row_that_checking_needs(plant):
    of_plant, _ = rules.comparisons()
    assert of_plant.floor() > Tag.objects.count() + Port.objects.count() + Link.objects.count()


def test_an_empty_register_is_timed_too(db, capsys):
    call_command("bench", "rules", "--rounds", "3")
    assert ", 0 loops, 0 tags" in capsys.readouterr().out


def test_a_case_that_does_not_exist_is_told_with_those_that_do():
    with pytest.raises(CommandError, match="There is no case moon: name engineering, rules"):
        call_command("bench", "moon")
