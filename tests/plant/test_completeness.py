"""ANSI/ISA-5.4-1991: minimum and optional information of a loop diagram (items from memory)."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from register.plant import sketch
from register.plant.completeness import ITEMS, Gap, gaps, score_percent


def lacking(loop):
    return {(gap.item, gap.where) for gap in gaps(loop)}


@pytest.mark.parametrize(
    ("loop", "gap"),
    [
        (replace(sketch.temperature_loop(), tags=(), links=()), ("identity", "T-101")),
        (replace(sketch.temperature_loop(), service=""), ("description", "T-101")),
        (sketch.without_link(sketch.cascade(), "TIC-102", "Remote set point"), ("relations", "TIC-102")),
        (
            sketch.with_link(sketch.temperature_loop(), "TV-101", "Signal", cores=()),
            ("connections", "TIC-101 Output 1 → TV-101 Signal"),
        ),
        (sketch.with_tag(sketch.temperature_loop(), "TE-101", location=None), ("locations", "TE-101")),
        (sketch.with_tag(sketch.temperature_loop(), "TIC-101", supply_v=None), ("energy sources", "TIC-101")),
        (
            sketch.with_settings(sketch.temperature_loop(), "TIC-101", action=None),
            ("action and fail position", "TIC-101"),
        ),
        (
            sketch.with_model(sketch.temperature_loop(), "TV-101", fail_position=None),
            ("action and fail position", "TV-101"),
        ),
        (sketch.with_tag(sketch.temperature_loop(), "TE-101", place=""), ("places", "TE-101")),
        (sketch.with_tag(sketch.temperature_loop(), "TE-101", asset=None), ("makers and models", "TE-101")),
        (sketch.with_tag(sketch.temperature_loop(), "TIC-101", settings=None), ("settings", "TIC-101")),
        (sketch.with_tag(sketch.calibrated_loop(), "PT-201", calibration=None), ("calibration", "PT-201")),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_what_is_missing_is_named_with_its_place(loop, gap):
    assert gap in lacking(loop)
    assert gap not in lacking(sketch.cascade() if gap[0] == "relations" else sketch.temperature_loop())


def test_a_recorder_has_its_ranges_on_its_channels():
    loop = sketch.recorder_loop(sent="0-200 degC", read="0-200 degC")
    recorder = loop.tags[-1]
    assert ("ranges", recorder.name) not in lacking(loop)

    unranged = tuple(replace(port, range=None) for port in recorder.ports)
    assert ("ranges", recorder.name) in lacking(sketch.with_tag(loop, recorder.name, ports=unranged))


def test_the_score_counts_minimum_items_only():
    whole = sketch.temperature_loop()
    assert score_percent(gaps(whole)) == 100
    assert score_percent(gaps(sketch.with_tag(whole, "TE-101", place=""))) == 100

    lost = sketch.with_tag(replace(whole, service=""), "TE-101", location=None)
    assert score_percent(gaps(lost)) == 71  # five of seven


def test_minimum_gaps_come_first():
    loop = sketch.with_tag(replace(sketch.temperature_loop(), service=""), "TE-101", place="")
    minimum = {item.slug: item.minimum for item in ITEMS}

    order = [minimum[gap.item] for gap in gaps(loop)]
    assert order == sorted(order, reverse=True)
    assert gaps(loop)[0] == Gap("description", "T-101")
