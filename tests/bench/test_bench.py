"""The benchmark compares like with like; how long that takes is not asserted."""

from __future__ import annotations

import json

import pytest
from django.core.management import CommandError, call_command

from register.bench import engineering


@pytest.mark.parametrize("comparison", list(engineering.comparisons()), ids=lambda of: of.what)
def test_both_ways_do_the_same_job(comparison):
    """Against thermocouple-its90, to 1 µV and 1 mK."""
    assert comparison.ours() == pytest.approx(comparison.floor(), abs=1e-3)


def test_the_command_prints_medians_spreads_and_ratios_that_can_be_kept(capsys):
    call_command("bench", "engineering", "--rounds", "3", "--json")

    kept = json.loads(capsys.readouterr().out)
    for outcome in kept["outcomes"]:
        assert outcome["case"] == "engineering"
        assert outcome["ratio"] == pytest.approx(outcome["ours"]["median_s"] / outcome["floor"]["median_s"])
        assert 0 < outcome["ours"]["least_s"] <= outcome["ours"]["median_s"] <= outcome["ours"]["most_s"]


def test_a_case_that_does_not_exist_is_told_with_those_that_do():
    with pytest.raises(CommandError, match="There is no case moon: name engineering"):
        call_command("bench", "moon")
