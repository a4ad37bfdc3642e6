"""What a tag does in its loop, by its identification letters."""

from __future__ import annotations

from functools import cache

from register.calc.errors import CalculationError
from register.calc.identity import read_letters
from register.plant.words import LoopKind, Role

_BY_FUNCTION = (
    ("VZ", Role.FINAL_ELEMENT),
    ("C", Role.CONTROLLER),
    ("T", Role.TRANSMITTER),
    ("EW", Role.SENSOR),
    ("Y", Role.SIGNAL_CONDITIONER),
    ("R", Role.RECORDER),
    ("AS", Role.ALARM_UNIT),
    ("IG", Role.INDICATOR),
)
"""The first line one of whose letters is among a tag's functions says its role: TIC controls, TIT transmits."""


@cache
def role_of(letters: str) -> Role | None:
    """The role of a tag with these letters; None where they do not say, or ISA-5.1 does not know them.

    Source: ANSI/ISA-5.1-2009, table 4.1; which of several functions decides is common practice.

    >>> role_of("TIC"), role_of("FCV"), role_of("LIT"), role_of("XMEAS")
    (<Role.CONTROLLER: 'controller'>, <Role.FINAL_ELEMENT: 'final element'>, <Role.TRANSMITTER: 'transmitter'>, None)
    """
    try:
        read = read_letters(letters)
    except CalculationError:
        return None
    if letters[0] == "H" and set(read.functions) <= set("ICKS"):  # a hand's own signal
        return Role.SET_POINT_SOURCE if set(read.functions) & set("CK") else None
    return next((role for ours, role in _BY_FUNCTION if set(ours) & set(read.functions)), None)


def kind_of(roles: set[Role]) -> LoopKind:
    """The kind of a loop with members of these roles: it controls, else it alarms where nothing shows its value.

    >>> kind_of({Role.TRANSMITTER, Role.INDICATOR}), kind_of({Role.SENSOR, Role.ALARM_UNIT})
    (<LoopKind.INDICATION: 'indication'>, <LoopKind.ALARM: 'alarm'>)
    """
    if roles & {Role.CONTROLLER, Role.FINAL_ELEMENT}:
        return LoopKind.CONTROL
    if Role.ALARM_UNIT in roles and not roles & {Role.INDICATOR, Role.RECORDER}:
        return LoopKind.ALARM
    return LoopKind.INDICATION
