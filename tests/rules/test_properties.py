"""What holds for every rule on any loop."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from register.rules.engine import all_rules, check
from tests.plant.strategies import loops
from tests.rules.rescaling import in_other_units

RULES = list(all_rules().values())


def identities(loop):
    return {(*verdict.identity, verdict.finding.unknown) for verdict in check(loop)}


@settings(max_examples=200)
@given(loops())
def test_no_rule_raises_on_any_loop_and_every_finding_can_be_read(loop):
    for verdict in check(loop):
        assert verdict.finding.text
        assert "{" not in verdict.finding.message.format_map(dict.fromkeys(verdict.finding.facts, ""))


@given(loops(), st.randoms(use_true_random=False))
def test_the_order_in_which_tags_and_links_are_written_changes_no_verdict(loop, random):
    names = [tag.name for tag in (*loop.tags, *loop.neighbours)]
    if len(set(names)) < len(names):
        return  # two tags of one name: which one is meant depends on their order
    shuffled = replace(
        loop,
        tags=tuple(random.sample(loop.tags, len(loop.tags))),
        links=tuple(random.sample(loop.links, len(loop.links))),
    )
    assert identities(shuffled) == identities(loop)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.slug)
def test_writing_a_loop_in_other_units_changes_no_verdict(rule):
    for loop in (rule.wrong, rule.right):
        assert identities(in_other_units(loop)) == identities(loop)
