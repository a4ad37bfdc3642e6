"""The published check values of checks.csv: each row names its source, its tolerance and where it was read."""

from __future__ import annotations

import csv
import json
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


def row_of(expected: str, tolerance: str = "exact", **inputs) -> dict[str, str]:
    return {"id": "A", "inputs": json.dumps(inputs), "expected": expected, "tolerance": tolerance}


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
        "C: got nothing (the calculation “phase_of_the_moon” is not known), expected 2.1",
        "1 passed, 2 failed",
    ]
    assert ended.value.code == 1


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"a,b\n1,2\n", "has no column id, inputs, expected, tolerance"),
        (b"", "has no column id, inputs, expected, tolerance"),
        (b"id,inputs,expected,tolerance\n", "a heading but no rows"),
        (b"id,inputs,expected,tolerance\nA,{},1\n", "line 2: the row does not have the 4 values"),
        (b'id,inputs,expected,tolerance\nA,"{}" x,1,exact\n', "after line 1: "),
        (b"\xff\xfe\x00", "not a text file in UTF-8"),
        (None, "cannot be read"),
    ],
)
def test_a_file_that_is_no_table_of_check_values_is_refused_in_one_sentence(tmp_path, content, sentence):
    file = tmp_path / "some.csv"
    if content is not None:
        file.write_bytes(content)

    with pytest.raises(CommandError, match=sentence):
        call_command("check_values", file)


@pytest.mark.parametrize(
    ("expected", "tolerance"),
    [("2.0011", "0.001"), ("1.9989", "0.001"), ("true", "exact"), ('"2.0"', "exact"), ("[2.0]", "0.1")],
)
def test_a_value_outside_its_tolerance_or_of_another_kind_fails(expected, tolerance):
    assert not run_row(row_of(expected, tolerance, calc="pb_to_gain", pb_percent=50)).passed


@pytest.mark.parametrize("word", ["flow", "flow rate", "flow, flow rate"])
def test_a_word_agrees_with_the_synonyms_that_the_standard_prints_beside_it(word):
    """ANSI/ISA-5.1-2009, table 4.1, gives F as “flow, flow rate”."""
    assert run_row(row_of(word, calc="isa_letter", letter="F", position="first")).passed
    assert not run_row(row_of("rate", calc="isa_letter", letter="F", position="first")).passed


@pytest.mark.parametrize(
    "inputs",
    [
        {"calc": "pb_to_gain"},
        {"calc": "pb_to_gain", "pb_percent": "wide"},
        {"calc": "pb_to_gain", "pb_percent": 0},
        {"calc": "isa_parse", "tag": "-"},
        {"calc": ["pb_to_gain"]},
    ],
)
def test_inputs_that_do_not_fit_fail_the_row_and_not_the_run(inputs):
    result = run_row(row_of("2.0", **inputs))

    assert (result.passed, result.got.startswith("nothing (")) == (False, True)


@pytest.mark.parametrize(
    ("expected", "inputs"),
    [
        (
            "[[10, 5.6], [50, 12], [90, 18.4]]",
            {"calc": "check_points", "range": [0, 100], "out": [4, 20], "points": [10, 50, 90]},
        ),
        (
            "[[10, 5.6], [30, 8.8], [50, 12], [70, 15.2], [90, 18.4]]",
            {"calc": "check_points", "range": [0, 100], "out": [4, 20], "points": "5 inset"},
        ),
        ("2.5", {"calc": "rss_percent_of", "terms": [3, 4], "span": 200}),
        ("2.5", {"calc": "rss_percent_of", "terms": [3, 4], "range": [-50, 150]}),
        ("40.1", {"calc": "conductor_r", "class": 5, "coating": "metal_coated", "csa_mm2": 0.5}),
        ('{"kc": 1, "ti": Infinity, "td": 0}', {"calc": "parallel_to_ideal", "kp": 1, "ki": 0}),
        ("0.25", {"calc": "max_error", "errors_percent": [0.1, -0.25]}),
        ("0.25", {"calc": "max_error", "out": [4, 20], "readings": [4, 12.01, 19.96]}),
        ('["red", "red", "white"]', {"calc": "rtd_colour", "wires": 3}),
        ('["black or grey", "yellow"]', {"calc": "rtd_colour", "wires": 2, "element": 2}),
        (
            '{"positive": "red", "negative": "green", "sheath": "green"}',
            {"calc": "tc_colour", "standard": "DIN 43710", "type": "K"},
        ),
        (
            '{"positive": "red", "negative": "white", "sheath": "blue"}',
            {"calc": "tc_colour", "standard": "JIS C 1610", "type": "K"},
        ),
        (
            '{"positive": "yellow", "negative": "purple", "sheath": "yellow"}',
            {"calc": "tc_colour", "standard": "NF C 42-324", "type": "K"},
        ),
        ("460", {"calc": "awg_diameter", "awg": "4/0"}),
        ("invalid", {"calc": "modbus_address", "address": -1}),
        ('["flow", "auxiliary devices"]', {"calc": "isa_parse", "tag": "FY"}),
        ('["pressure", "difference", "indicate", "switch", "high"]', {"calc": "isa_parse", "tag": "PDISH"}),
        ("user's choice", {"calc": "isa_letter", "letter": "B", "position": "readout"}),
        ("491.67", {"calc": "unit", "value": 0, "from": "degC", "to": "degR"}),
        ("0.8", {"calc": "cutout_tolerance", "front_side_mm": 96}),
        ("0.00857", {"calc": "pfd_series", "parts": [0.002, 0.00657]}),
        ("0.00857", {"calc": "pfd_series", "sensor": 0.002, "logic": 0.00057, "final": 0.006}),
    ],
    ids=lambda part: part.get("calc") if isinstance(part, dict) else None,
)
def test_a_calculation_takes_its_inputs_in_each_way_in_which_they_are_written(expected, inputs):
    """Values of the tables that they cite: IEC 60228 and 60751, DIN 43710, JIS C 1610, ASTM B258, ANSI/ISA-5.1."""
    result = run_row(row_of(expected, "1e-6" if inputs["calc"] != "awg_diameter" else "0.05", **inputs))

    assert result.passed, result.got
