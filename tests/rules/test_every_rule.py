"""What every rule must hold to, whoever writes it."""

from __future__ import annotations

import re

import pytest
from msgspec.structs import replace

from register.plant import sketch
from register.rules.engine import all_rules, check

RULES = list(all_rules().values())
RIGHT_LOOPS = {
    "temperature": sketch.temperature_loop(),
    "thermocouple": sketch.thermocouple_loop(),
    "pressure": sketch.pressure_loop(),
    "heat and cool": sketch.heat_cool_loop(),
    "cascade": sketch.cascade(),
}


def said(loop):
    return {verdict.rule: verdict.finding.text for verdict in check(loop)}


def identities(loop):
    return {(*verdict.identity, verdict.finding.text) for verdict in check(loop)}


COMPANIONS = {
    # what a sensor alone uses up, the whole chain uses up too
    "sensor-uses-up-accuracy": {"accuracy-budget-exceeded"},
}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.slug)
def test_the_flagged_example_is_flagged_by_its_own_rule_and_no_other(rule):
    verdicts = check(rule.wrong)

    assert {verdict.rule for verdict in verdicts} == {rule.slug} | COMPANIONS.get(rule.slug, set())
    assert not any(verdict.finding.unknown for verdict in verdicts)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.slug)
def test_the_passing_example_passes_every_rule(rule):
    assert said(rule.right) == {}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.slug)
def test_the_page_of_the_rule_is_whole(rule):
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)+", rule.slug)
    assert all(text.endswith(".") for text in (rule.title, rule.why, rule.remedy))
    assert rule.source


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.slug)
def test_a_finding_has_one_identity_each(rule):
    findings = list(rule.findings(rule.wrong))

    assert len({(found.subject, found.place) for found in findings}) == len(findings)


@pytest.mark.parametrize("loop", RIGHT_LOOPS.values(), ids=RIGHT_LOOPS)
def test_nothing_is_said_of_a_right_loop(loop):
    assert said(loop) == {}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.slug)
def test_the_order_of_tags_and_links_changes_no_verdict(rule):
    turned = replace(rule.wrong, tags=rule.wrong.tags[::-1], links=rule.wrong.links[::-1])

    assert identities(turned) == identities(rule.wrong)


def test_nothing_is_said_of_a_loop_with_nothing_in_it():
    assert said(replace(sketch.temperature_loop(), tags=(), links=())) == {}
