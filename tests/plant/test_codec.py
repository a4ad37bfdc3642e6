"""A loop as canonical JSON, both ways."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import msgspec
import pytest
from hypothesis import given

from register.plant import sketch
from register.plant.codec import decode, digest, encode
from register.plant.values import Loop, Surroundings, Tag
from register.plant.words import Role
from tests.plant.strategies import loops, recorded_loops


@given(recorded_loops())
def test_a_loop_survives_being_written_and_read(loop):
    assert decode(encode(loop)) == loop


@given(recorded_loops())
def test_the_same_loop_always_gives_the_same_bytes(loop):
    assert encode(decode(encode(loop))) == encode(loop)


@given(loops())
def test_what_is_around_a_loop_is_no_part_of_its_record(loop):
    assert decode(encode(loop)).surroundings == Surroundings()


def test_what_is_not_recorded_is_left_out_and_numbers_stand_as_typed():
    tag = Tag(name="TI-1", loop="T-1", role=Role.INDICATOR, supply_v=Decimal("230.0"))

    assert encode(Loop(number="T-1", tags=(tag,))) == (
        b'{"number":"T-1","tags":[{"loop":"T-1","name":"TI-1","role":"indicator","supply_v":"230.0"}]}'
    )


def test_a_digest_is_sha256_of_the_bytes():
    """FIPS 180-4: the digest of no bytes at all."""
    assert digest(b"") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_another_day_does_not_change_the_record():
    loop = sketch.temperature_loop()

    assert encode(sketch.with_surroundings(loop, today=date(2026, 3, 1))) == encode(loop)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"tags": [{"name": "TI-1", "loop": "T-1", "role": "wizard"}]}, "tags"),
        ({"criticality": 3}, "criticality"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_json_that_is_no_loop_is_refused_with_the_field_that_is_wrong(change, field):
    with pytest.raises(msgspec.ValidationError, match=field):
        decode(json.dumps({"number": "T-1"} | change).encode())
