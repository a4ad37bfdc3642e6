"""Canonical JSON of a loop, both ways. The same loop always gives the same bytes, so its sha256 names it."""

from __future__ import annotations

import hashlib

import msgspec

from register.plant.values import NOTHING_AROUND, Loop

_encoder = msgspec.json.Encoder(order="sorted")
_decoder = msgspec.json.Decoder(Loop)


def encode(loop: Loop) -> bytes:
    """The loop as it is recorded: without its surroundings, which change without it."""
    if loop.surroundings is not NOTHING_AROUND:
        loop = msgspec.structs.replace(loop, surroundings=NOTHING_AROUND)
    return _encoder.encode(loop)


def decode(snapshot: bytes) -> Loop:
    """Raises msgspec.ValidationError, which names the field, for JSON that is not a loop."""
    return _decoder.decode(snapshot)


def digest(snapshot: bytes) -> str:
    return hashlib.sha256(snapshot).hexdigest()
