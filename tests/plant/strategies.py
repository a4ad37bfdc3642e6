"""Loops of any shape: built fact by fact from the types of the values, or a sketched loop with some facts altered."""

from __future__ import annotations

import types
import typing
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cache

import msgspec
from hypothesis import strategies as st
from msgspec.structs import replace

from register.calc.ranges import Range
from register.calc.signals import SIGNALS
from register.calc.thermocouples import extension_cables
from register.plant import sketch
from register.plant.values import Loop, Surroundings

TAGS = ("TE-101", "TIC-101", "TV-101", "PT-201", "PIC-201", "FV-9", "kiln", "LAHH-1")
PORTS = ("Element", "Input", "Output", "Output 1", "Relay 2", "Signal", "Supply", "Remote set point")
UNITS = ("CEL", "FAH", "KEL", "BAR", "KPA", "PS", "MTQ", "MQH", "KGM", "P1", "MTR", "MMT")
WORDS = {
    "signal": ("", *SIGNALS, "unheard of"),
    "input_signal": ("", *SIGNALS, "unheard of"),
    "signals": tuple(SIGNALS),
    "designation": ("", *extension_cables(), "copper", "R-77"),
    "bay": ("", "1", "2", "3", "9"),
    "takes": ("relay", "linear output", "serial"),
    "family": ("", "relay", "linear output", "serial", "remote set point"),
    "polarity": ("", "+", "-", "compensation", "screen"),
    "colour": ("", "green", "white", "red", "yellow", "mauve"),
    "zone": ("", "0", "1", "2", "22", "yard"),
    "gas_group": ("", "IIA", "IIB", "IIC", "II", "methane"),
    "protection": ("", "ia", "ib", "ic", "d", "e", "Ex ia IIC", "none"),
    "temperature_class": ("", "T1", "T3", "T4", "T6", "warm"),
    "tolerance_class": ("", "1", "2", "3", "AA", "A", "B", "C", "gold"),
    "construction": ("", "wire wound", "film", "glass"),
    "output": ("", *PORTS),
    "source_tag": TAGS,
    "target_tag": TAGS,
    "tag": TAGS,
    "cascade": TAGS,
    "supply_tag": TAGS,
    "source_port": PORTS,
    "target_port": PORTS,
    "supply_port": PORTS,
    "bus": ("", "B1", "B2"),
    "mode": ("", "RTU", "ASCII"),
    "loop": ("T-101", "P-201", "kiln"),
    "number": ("T-101", "10-P-0201", "kiln"),
    "cable": ("C-1", "C-2"),
    "core": ("1", "2", "3"),
    "screen_earthed_at": ("panel", "field", "JB-1"),
}
"""What stands in a field of this name; any other text is arbitrary."""
NAMES = {"Tag": TAGS, "Port": PORTS, "ModelPort": PORTS, "Cable": ("C-1", "C-2", "C-3"), "Bay": ("1", "2", "3")}
SKETCHES = (
    sketch.temperature_loop(),
    sketch.thermocouple_loop(),
    sketch.pressure_loop(),
    sketch.heat_cool_loop(),
    sketch.cascade(),
)

decimals = (
    st.sampled_from([Decimal(0), Decimal(1), Decimal(-1), Decimal("0.001"), Decimal(100), Decimal("1e9")])
    | st.decimals(-1000, 1000, places=2)
    | st.decimals(-(10**12), 10**12, places=6)
)


@st.composite
def ranges(draw) -> Range:
    low = draw(decimals)
    span = draw(decimals.filter(bool))
    reference = draw(st.sampled_from(["", "", "", "gauge", "absolute", "differential", "difference", "normal"]))
    return Range(low, low + abs(span), draw(st.sampled_from(UNITS)), reference)


_SIMPLE = {
    bool: st.booleans(),
    int: st.integers(0, 300),
    Decimal: decimals,
    date: st.dates(date(1990, 1, 1), date(2040, 12, 31)),
    Range: ranges(),
}


def _of(hint: object, field: str, owner: str) -> st.SearchStrategy:
    """Values of a type, as the field of a value bears them."""
    if isinstance(hint, types.UnionType):
        return st.one_of(*(_of(one, field, owner) for one in typing.get_args(hint)))
    if hint is type(None):
        return st.none()
    if typing.get_origin(hint) is tuple:
        return st.lists(_of(typing.get_args(hint)[0], field, owner), max_size=3).map(tuple)
    if typing.get_origin(hint) is dict:
        _, held = typing.get_args(hint)
        return st.dictionaries(st.text(max_size=5), _of(held, field, owner), max_size=2)
    if hint is str:
        words = NAMES.get(owner) if field == "name" else WORDS.get(field)
        return st.sampled_from(words) if words else st.text(max_size=12)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return st.sampled_from(hint)
    return _SIMPLE[hint] if hint in _SIMPLE else values(hint)


@cache
def values(of: type[msgspec.Struct]) -> st.SearchStrategy:
    """Values of a class with each fact recorded or not."""
    made = {}
    for name, hint in typing.get_type_hints(of).items():
        required = next(one for one in msgspec.structs.fields(of) if one.name == name).required
        anything = st.deferred(lambda hint=hint, name=name: _of(hint, name, of.__name__))
        made[name] = anything if required else st.just(_ABSENT) | anything
    return st.fixed_dictionaries(made).map(
        lambda facts: of(**{name: fact for name, fact in facts.items() if fact is not _ABSENT})
    )


_ABSENT = object()


@st.composite
def altered(draw, loop: Loop) -> Loop:
    """A loop with up to four facts replaced, wherever they lie."""
    for _ in range(draw(st.integers(1, 4))):
        loop = draw(_altered_once(loop))
    return loop


@st.composite
def _altered_once(draw, value: msgspec.Struct) -> msgspec.Struct:
    name = draw(st.sampled_from(value.__struct_fields__))
    fact = getattr(value, name)
    if isinstance(fact, msgspec.Struct) and draw(st.integers(0, 9)):
        return replace(value, **{name: draw(_altered_once(fact))})
    if isinstance(fact, tuple) and fact and isinstance(fact[0], msgspec.Struct) and draw(st.integers(0, 9)):
        at = draw(st.integers(0, len(fact) - 1))
        kept = draw(st.sampled_from(["altered", "altered", "dropped", "doubled"]))
        middle = {"dropped": (), "doubled": (fact[at], fact[at])}.get(kept)
        if middle is None:
            middle = (draw(_altered_once(fact[at])),)
        return replace(value, **{name: (*fact[:at], *middle, *fact[at + 1 :])})
    hint = typing.get_type_hints(type(value))[name]
    return replace(value, **{name: draw(_of(hint, name, type(value).__name__))})


def loops() -> st.SearchStrategy[Loop]:
    return values(Loop) | st.sampled_from(SKETCHES).flatmap(altered)


def recorded_loops() -> st.SearchStrategy[Loop]:
    """Loops as a revision holds them: without their surroundings."""
    return loops().map(lambda loop: replace(loop, surroundings=Surroundings()))
