"""Small patterns take a tag's name apart and write it in the plant's one way."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc.identity import TagName, parse_tag
from register.calc.tag_patterns import CONVENTIONS, USUAL, BadPattern, TagPattern, loop_of, read_patterns, read_tag

PLANT = read_patterns(USUAL)


@pytest.mark.parametrize(
    ("name", "written", "loop"),
    [
        ("TIC-101", "TIC-101", "T-101"),
        ("TIC 101A", "TIC-101A", "T-101"),
        ("10-TIC-0101", "10-TIC-0101", "10-T-0101"),
        ("101TIC", "101TIC", "101T"),
        ("tic\N{EN DASH}101 a", "TIC-101A", "T-101"),
        ("BH-PDT-203", "BH-PDT-203", "BH-PD-203"),
    ],
)
def test_tags_as_people_write_them_are_written_in_one_way_and_name_their_loop(name, written, loop):
    """Loop numbers by ANSI/ISA-5.1-2009: the variable with its modifier, and the number."""
    parts, pattern = read_tag(name, PLANT)
    assert pattern.write(parts) == written
    assert loop_of(parts, pattern) == loop


@pytest.mark.parametrize(
    ("example", "tag", "parts"),
    [
        (0, "10-TIC-0101", ("10", "TIC", "0101", "")),
        (1, "4712.01 PICSA", ("", "PICSA", "4712.01", "")),
        (2, "P1_FCV02Z", ("P1", "FCV", "02", "Z")),
    ],
)
def test_the_worked_examples_read_the_conventions_that_they_show(example, tag, parts):
    """ANSI/ISA-5.1-2009; the public DEXPI example C01; the point list of the HAI data set."""
    assert tag in CONVENTIONS[example].tags
    assert TagPattern(CONVENTIONS[example].pattern).read(tag) == TagName(*parts)


@pytest.mark.parametrize("one", CONVENTIONS, ids=lambda one: one.name)
def test_every_tag_of_a_worked_example_fits_its_pattern(one):
    assert all(TagPattern(one.pattern).read(tag) for tag in one.tags)


def test_characters_that_part_nothing_stand_for_themselves():
    pattern = TagPattern("{letters}({number})")
    assert pattern.read("XMEAS(12)") == TagName("", "XMEAS", "12", "")
    assert pattern.read("XMEAS-12") is None


def test_letters_that_the_standard_does_not_know_keep_their_loops_apart():
    pattern = TagPattern("{letters}({number})")
    assert loop_of(pattern.read("XMEAS(1)"), pattern) != loop_of(pattern.read("XMV(1)"), pattern)


@pytest.mark.parametrize(
    ("pattern", "says"),
    [
        ("{letter}-{number}", "no part {letter}"),
        ("{letters}", "needs {letters} and {number}"),
        ("{letters}-{number", "brace stands alone"),
        ("[{letters}-{number}", "not closed"),
        ("{letters}-{number}]", "in pairs"),
        ("[[{area}]-]{letters}{number}", "in pairs"),
        ("{letters}-{number}-{number}", "twice"),
    ],
)
def test_a_pattern_that_cannot_be_used_says_what_to_write(pattern, says):
    with pytest.raises(BadPattern, match=re.escape(says)):
        read_patterns(pattern)


LETTERS = st.text("ACDFILPST", min_size=1, max_size=4)
NAMES = st.builds(
    TagName,
    st.from_regex(r"[1-9][0-9]?", fullmatch=True) | st.just(""),
    LETTERS,
    st.from_regex(r"[0-9]{2,4}", fullmatch=True),
    st.sampled_from(["", "A", "B"]),
)


@given(NAMES, st.sampled_from([CONVENTIONS[0].pattern, "[{area}_]{letters}{number}[{suffix}]"]))
def test_what_a_pattern_writes_it_reads_back(name, pattern):
    assert TagPattern(pattern).read(TagPattern(pattern).write(name)) == name


@given(st.text(max_size=40))
def test_any_text_is_read_or_not_and_never_fails(text):
    read_tag(text, PLANT)


def test_the_rules_read_numbers_that_come_first():
    assert parse_tag("101TIC") == TagName("", "TIC", "101", "")
    assert parse_tag("4712.01 PICSA") == TagName("", "PICSA", "4712.01", "")
