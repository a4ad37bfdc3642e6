"""Tag names by the identification letters of ANSI/ISA-5.1-2009, table 4.1."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from register.calc.errors import CalculationError
from register.calc.units import read_table

POSITIONS = {
    "first": "first_letter",
    "first-modifier": "first_letter_modifier",
    "readout": "readout_passive",
    "output": "output_active",
    "function-modifier": "function_modifier",
}


@cache
def _letters() -> dict[str, dict[str, str]]:
    return {row["letter"]: row for row in read_table("isa51_letters.csv")}


def letter_meaning(letter: str, position: str) -> str:
    """What a letter means in a position (a key of :data:`POSITIONS`); "" where the table gives it no meaning.

    Raises CalculationError for what is no letter or position. Source: ANSI/ISA-5.1-2009, table 4.1.

    >>> letter_meaning("T", "output")
    'transmit'
    """
    if letter not in _letters() or position not in POSITIONS:
        raise CalculationError(f"“{letter}” in position “{position}” is not in the table of identification letters.")
    return _letters()[letter][POSITIONS[position]]


@dataclass(frozen=True, slots=True)
class TagName:
    """A tag's name in its parts: "10-PDT-0203A" has prefix 10, letters PDT, number 0203 and suffix A."""

    prefix: str
    letters: str
    number: str
    suffix: str

    @property
    def variable(self) -> str:
        """The first letter: the measured or initiating variable."""
        return self.letters[0]

    @property
    def loop_number(self) -> str:
        """Number without leading zeros, which not every drawing writes."""
        return self.number.lstrip("0") or "0"


_TAG = re.compile(
    r"^(?:(?P<prefix>[A-Z]*\d[A-Z0-9]*)[-_ .])?(?P<letters>[A-Z]{1,6})[-_ .]?"
    r"(?P<number>\d{1,6})[-_ .]?(?P<suffix>[A-Z0-9/]{0,4})$"
)

_NUMBER_FIRST = re.compile(
    r"^(?P<prefix>)(?P<number>\d{1,6}(?:\.\d{1,3})?)[-_ .]?(?P<letters>[A-Z]{1,6})(?:[-_ .](?P<suffix>[A-Z0-9]{1,4}))?$"
)


def parse_tag(name: str) -> TagName:
    """The parts of a tag's name. Raises CalculationError where letters and number cannot be told apart.

    Source: ANSI/ISA-5.1-2009; where prefix and suffix stand, and that some plants write 101TIC, is common practice.

    >>> parse_tag("10-PDT-0203A")
    TagName(prefix='10', letters='PDT', number='0203', suffix='A')
    """
    written = name.strip().upper()
    match = _TAG.match(written) or _NUMBER_FIRST.match(written)
    if match is None:
        raise CalculationError(f"“{name}” is not made of identification letters and a loop number, as TIC-101.")
    return TagName(match["prefix"] or "", match["letters"], match["number"], match["suffix"] or "")


@dataclass(frozen=True, slots=True)
class Letters:
    """Identification letters read: each with its position, in order."""

    meanings: tuple[tuple[str, str, str], ...]  # letter, position, meaning

    @property
    def functions(self) -> str:
        """The readout and output letters, as "IC" in TIC."""
        return "".join(letter for letter, position, _ in self.meanings if position in ("readout", "output"))

    @property
    def modifier(self) -> str:
        return next((letter for letter, position, _ in self.meanings if position == "first-modifier"), "")


@cache
def read_letters(letters: str) -> Letters:
    """Identification letters by the rule of use: first letter, its modifier, functions, then high, low or the like.

    Raises CalculationError, which names the letter that stands where it has no meaning or out of order.
    Source: ANSI/ISA-5.1-2009, table 4.1.

    >>> [meaning for _, _, meaning in read_letters("LAHH").meanings]
    ['level', 'alarm', 'high', 'high']
    """
    if not letters:
        raise CalculationError("A tag begins with identification letters.")
    read = [(letters[0], "first", letter_meaning(letters[0], "first"))]
    rest = letters[1:]
    if len(rest) > 1 and _modifies(rest):
        read.append((rest[0], "first-modifier", letter_meaning(rest[0], "first-modifier")))
        rest = rest[1:]
    functions_done = False
    for place, letter in enumerate(rest):
        position = _position(letter, rest[:place], functions_done)
        if position is None:
            raise CalculationError(f"“{letter}” in “{letters}” stands where it has no meaning, or out of order.")
        functions_done = position == "function-modifier"
        read.append((letter, position, letter_meaning(letter, position)))
    return Letters(tuple(read))


def _modifies(rest: str) -> bool:
    """Whether the second letter modifies the first. S does so before a valve or an element only: TSH is a switch."""
    if rest[0] == "S":
        return rest[1] in "EVZ"
    return bool(letter_meaning(rest[0], "first-modifier"))


def _position(letter: str, before: str, functions_done: bool) -> str | None:
    """Where a succeeding letter stands. After a function H, L, M and O say where it acts, and only such may follow;
    after a switch or a light so do C, R and S: ZSC is a switch at the closed position."""
    acts = letter in "HLMO" or (letter in "CRS" and before[-1:] in ("S", "L"))
    if before and (acts or functions_done):
        return "function-modifier" if letter_meaning(letter, "function-modifier") else None
    positions = ("readout", "output", "function-modifier") if before else ("readout", "output")
    return next((position for position in positions if letter_meaning(letter, position)), None)


DIMENSIONS: dict[str, frozenset[str]] = {
    "E": frozenset({"voltage"}),
    "F": frozenset({"volume flow", "mass flow", "velocity"}),
    "I": frozenset({"current"}),
    "J": frozenset({"power", "apparent power"}),
    "L": frozenset({"length", "volume", "mass", "fraction", "pressure"}),
    "P": frozenset({"pressure"}),
    "S": frozenset({"rotational speed", "frequency", "velocity", "angular velocity", "fraction"}),
    "T": frozenset({"temperature"}),
    "W": frozenset({"mass", "force"}),
    "Z": frozenset({"length", "plane angle", "fraction"}),
}
"""Dimensions in which a variable is measured (common practice, no source). A letter that is missing takes any."""


def fits_variable(letter: str, dimension: str, reference: str = "") -> bool:
    """Whether a range of a dimension can be that of a first letter. Flow may be measured as differential pressure.

    Source: common practice.

    >>> fits_variable("T", "temperature"), fits_variable("T", "pressure")
    (True, False)
    """
    if letter == "F" and dimension == "pressure":
        return reference == "differential"
    return letter not in DIMENSIONS or dimension in DIMENSIONS[letter]
