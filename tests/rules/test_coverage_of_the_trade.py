"""Every check that the trade holds right is built, with its worked example, or there is a reason why not."""

from __future__ import annotations

import pytest

from register.rules.engine import all_rules
from tests.rules.saying import said
from tests.rules.worked_examples import EXAMPLES

NOT_BUILT = {
    "R82": "A stock level belongs to a model, not to a loop: the list of spares works it out.",
    "R83": "What a spare replaces is asked of the would-be loop when a spare is chosen, by every rule at once.",
}


def test_each_of_the_84_checks_has_its_rule_or_its_reason():
    built = {example.check for example in EXAMPLES}

    assert sorted({*built, *NOT_BUILT}) == [f"R{number:02}" for number in range(1, 85)]
    assert not built & {*NOT_BUILT}


@pytest.mark.parametrize("example", EXAMPLES, ids=str)
def test_what_the_trade_flags_is_flagged_with_its_number(example):
    assert example.says in " | ".join(said(example.rule, example.flags))


@pytest.mark.parametrize("example", [one for one in EXAMPLES if one.passes], ids=str)
def test_what_the_trade_passes_is_passed(example):
    for loop in example.passes:
        assert list(all_rules()[example.rule].findings(loop)) == []
