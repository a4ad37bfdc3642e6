"""The published check values of checks.csv: each row names its source, its tolerance and where it was read."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from register.calc.check_values import run_row

FILE = Path(__file__).with_name("checks.csv")
ROWS = list(csv.DictReader(FILE.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", ROWS, ids=[row["id"] for row in ROWS])
def test_the_product_computes_the_published_value(row):
    result = run_row(row)

    assert result.passed, f"{row['source']} ({row['provenance']}): got {result.got}, expected {result.expected}"


def write(path: Path, *rows: str) -> Path:
    path.write_text("\n".join(("id,topic,inputs,expected,unit,tolerance,source,provenance", *rows)), encoding="utf-8")
    return path


def test_the_command_ends_with_the_count_and_names_what_fails(tmp_path, capsys):
    right = 'A,x,"{""calc"": ""pb_to_gain"", ""pb_percent"": 50}",2.0,1,0.001,s,p'
    wrong = 'B,x,"{""calc"": ""pb_to_gain"", ""pb_percent"": 50}",2.1,1,0.001,s,p'
    unheard_of = 'C,x,"{""calc"": ""phase_of_the_moon""}",2.1,1,0.001,s,p'

    with pytest.raises(SystemExit) as ended:
        call_command("check_values", write(tmp_path / "some.csv", right, wrong, unheard_of))

    lines = capsys.readouterr().out.splitlines()
    assert lines == [
        "B: got 2.0, expected 2.1",
        "C: got the calculation is not known, expected 2.1",
        "1 passed, 2 failed",
    ]
    assert ended.value.code == 1


def test_a_file_that_is_no_table_of_check_values_is_refused_in_one_sentence(tmp_path):
    other = tmp_path / "other.csv"
    other.write_text("a,b\n1,2\n")

    with pytest.raises(CommandError, match="has no column id, inputs, expected, tolerance"):
        call_command("check_values", other)
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("check_values", tmp_path / "missing.csv")


@pytest.mark.parametrize(
    ("expected", "tolerance"),
    [("2.0011", "0.001"), ("1.9989", "0.001"), ("true", "exact"), ('"2.0"', "exact"), ("[2.0]", "0.1")],
)
def test_a_value_outside_its_tolerance_or_of_another_kind_fails(expected, tolerance):
    row = {
        "id": "A",
        "inputs": '{"calc": "pb_to_gain", "pb_percent": 50}',
        "expected": expected,
        "tolerance": tolerance,
    }

    assert not run_row(row).passed
