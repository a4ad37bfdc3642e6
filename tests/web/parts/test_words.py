"""Numbers, dates and severities in words. The forms of numbers and dates are those of the Unicode CLDR."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.utils import timezone, translation

from register.plant.words import Severity
from register.web.parts.marks import severity_counts, severity_mark
from register.web.parts.words import localdate, quantity


def test_a_number_keeps_every_digit_that_was_typed():
    assert quantity(Decimal("12.50"), "CEL") == "12.50\N{NO-BREAK SPACE}°C"
    assert quantity(Decimal("1E+3")) == "1000"
    assert quantity(Decimal("-0.10"), "BAR") == "−0.10\N{NO-BREAK SPACE}bar"


def test_a_german_reader_gets_a_decimal_comma_and_german_months():
    with translation.override("de"):
        assert quantity(Decimal("12.50"), "CEL") == "12,50\N{NO-BREAK SPACE}°C"
        assert localdate(date(2026, 3, 4)) == '<time datetime="2026-03-04">4. März 2026</time>'


def test_a_moment_is_told_in_the_readers_time_zone():
    with timezone.override("Europe/Berlin"):
        said = localdate(datetime(2026, 3, 4, 16, 30, tzinfo=UTC))
    assert said == '<time datetime="2026-03-04T17:30:00+01:00">4 Mar 2026, 17:30</time>'


def test_what_is_not_recorded_is_no_word():
    assert quantity(None, "CEL") == localdate(None) == ""


@pytest.mark.parametrize(
    ("severity", "word"), [("error", "Error"), ("warning", "Warning"), ("advice", "Advice"), ("unknown", "Cannot tell")]
)
def test_a_severity_is_a_shape_of_its_own_with_a_word(severity, word):
    mark = severity_mark(severity)
    assert f'href="#mark-{severity}"' in mark
    assert f">{word}<" in mark


def test_a_finding_that_cannot_tell_is_marked_so_whatever_its_rule_says():
    assert severity_mark(Severity.ERROR, unknown=True) == severity_mark("unknown")


def test_counts_are_read_out_in_words_most_urgent_first_and_zeros_are_left_out():
    counts = severity_counts({Severity.ADVICE: 1, Severity.WARNING: 0, Severity.ERROR: 2})
    assert counts.index(">2 errors<") < counts.index(">1 piece of advice<")
    assert "warning" not in counts
    assert "none" in severity_counts({})
