"""How a plant writes its tags: small patterns that take a tag's name apart and write it in one way.

A pattern names the parts of a tag in braces, in the order in which they stand: ``{area}``, ``{letters}``, ``{number}``,
``{suffix}``. What stands in brackets may be left out. A dash, underscore, dot or blank stands for any one of them, or
for none where a letter meets a digit. Between parts without one a blank is read over. Every other character stands for
itself.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from register.calc.errors import CalculationError
from register.calc.identity import TagName, read_letters

PARTS = {
    "area": "[A-Z0-9]{1,12}?",
    "letters": "[A-Z]{1,6}",
    "number": r"\d{1,6}(?:\.\d{1,3})?",
    "suffix": "[A-Z0-9]{1,4}",
}
"""The parts of a tag, and what each is made of."""

_SEPARATORS = "-_. "
_ANY_SEPARATOR = r"(?:\s*[-_. ]\s*|(?<=[A-Z])(?=\d)|(?<=\d)(?=[A-Z]))"
_PIECE = re.compile(r"\{(\w*)\}|([\[\]])|([^{}\[\]])")
_DASHES = re.compile("[\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{FIGURE DASH}\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}]")


class BadPattern(CalculationError):
    """The pattern cannot be used; the message says what to write instead."""


@dataclass(frozen=True, slots=True)
class Convention:
    """A way in which plants write tags: its pattern, tags written so, and where it is found."""

    name: str
    pattern: str
    tags: tuple[str, ...]
    source: str


CONVENTIONS = (
    Convention(
        "Letters, then the number",
        "[{area}-]{letters}-{number}[{suffix}]",
        ("TIC-101", "TIC 101A", "10-TIC-0101"),
        "ANSI/ISA-5.1-2009, tag numbers with and without a number of the plant unit",
    ),
    Convention(
        "Number first",
        "{number}{letters}[-{suffix}]",
        ("101TIC", "4712.01 PICSA"),
        "The order of IEC 62424, as in the public DEXPI example drawings",
    ),
    Convention(
        "Plant unit, underscore, letters and number in one",
        "{area}_{letters}{number}[{suffix}]",
        ("P1_FT01", "P1_FCV02Z"),
        "The published point list of the HAI test bed",
    ),
)
"""Worked examples of conventions in use."""

USUAL = f"{CONVENTIONS[0].pattern}\n{CONVENTIONS[1].pattern}"
"""Patterns, one a line, that hold until a plant says how it writes tags."""


@dataclass(frozen=True, slots=True)
class TagPattern:
    """A pattern, ready to read and to write."""

    text: str

    def __post_init__(self) -> None:
        _compiled(self.text)

    def read(self, name: str) -> TagName | None:
        """The parts of a name; None where it does not fit.

        >>> TagPattern("[{area}-]{letters}-{number}[{suffix}]").read("10-TIC-0101A")
        TagName(prefix='10', letters='TIC', number='0101', suffix='A')
        """
        folded = _DASHES.sub("-", unicodedata.normalize("NFKC", name)).strip().upper()
        match = _compiled(self.text).fullmatch(folded)
        if match is None:
            return None
        parts = {part: match.groupdict().get(part) or "" for part in PARTS}
        return TagName(parts["area"], parts["letters"], parts["number"], parts["suffix"])

    def write(self, name: TagName) -> str:
        """A name as the pattern has it; what may be left out is, where there is nothing to write.

        >>> TagPattern("[{area}-]{letters}-{number}[{suffix}]").write(TagName("", "TIC", "101", "A"))
        'TIC-101A'
        """
        parts = {"area": name.prefix, "letters": name.letters, "number": name.number, "suffix": name.suffix}
        written, optional, filled = "", None, False
        for part, bracket, character in _PIECE.findall(self.text):
            if bracket == "[":
                optional, filled = "", False
            elif bracket == "]":
                written, optional = written + (optional if filled else ""), None
            elif optional is None:
                written += parts[part] if part else character
            else:
                optional += parts[part] if part else character
                filled = filled or bool(part and parts[part])
        return written


def read_patterns(text: str) -> tuple[TagPattern, ...]:
    """Patterns, one a line. Raises BadPattern, which names the line.

    >>> [pattern.text for pattern in read_patterns("{letters}-{number}")]
    ['{letters}-{number}']
    """
    return tuple(TagPattern(line.strip()) for line in text.splitlines() if line.strip())


def read_tag(name: str, patterns: Iterable[TagPattern]) -> tuple[TagName, TagPattern] | None:
    """A name's parts by the first pattern that it fits, and that pattern; None where it fits none.

    >>> read_tag("101TIC", read_patterns("{letters}-{number}\\n{number}{letters}"))[0].letters
    'TIC'
    """
    return next(((parts, one) for one in patterns if (parts := one.read(name)) is not None), None)


def loop_of(name: TagName, pattern: TagPattern) -> str:
    """The loop that a tag belongs to by its name: its variable, with what modifies that, and its number.

    Letters that ISA-5.1 does not know stay as they are, so that different series of numbers are not mixed.
    Source: ANSI/ISA-5.1-2009, loop identification; that a suffix parts tags and not loops is common practice.

    >>> pattern = TagPattern("[{area}-]{letters}-{number}[{suffix}]")
    >>> loop_of(pattern.read("10-PDT-0203A"), pattern), loop_of(pattern.read("TIC 101"), pattern)
    ('10-PD-0203', 'T-101')
    """
    try:
        letters = name.variable + read_letters(name.letters).modifier
    except CalculationError:
        letters = name.letters
    return pattern.write(TagName(name.prefix, letters, name.number, ""))


@cache
def _compiled(text: str) -> re.Pattern[str]:
    expression, named, opened, position, after_part = "", [], False, 0, False
    while position < len(text):
        piece = _PIECE.match(text, position)
        if piece is None:
            raise BadPattern(f"“{text}”: a brace stands alone. A part is written as {{letters}}.")
        position = piece.end()
        part, bracket, character = piece.groups()
        if part is not None:
            if part not in PARTS:
                known = ", ".join(f"{{{one}}}" for one in PARTS)
                raise BadPattern(f"“{text}”: there is no part {{{part}}}. The parts are {known}.")
            if part in named:
                raise BadPattern(f"“{text}”: {{{part}}} stands there twice. Leave one out.")
            named.append(part)
            expression += (r"\s?" if after_part else "") + f"(?P<{part}>{PARTS[part]})"
        elif bracket:
            if opened == (bracket == "["):
                raise BadPattern(f"“{text}”: brackets stand in pairs, and not within each other.")
            opened = bracket == "["
            expression += "(?:" if opened else ")?"
        elif character in _SEPARATORS:
            expression += _ANY_SEPARATOR
        else:
            expression += re.escape(character.upper())
        after_part = part is not None or (bool(bracket) and after_part)
    if opened:
        raise BadPattern(f"“{text}”: the bracket is not closed. Write ] behind what may be left out.")
    if not {"letters", "number"} <= set(named):
        raise BadPattern(f"“{text}”: a pattern needs {{letters}} and {{number}}.")
    return re.compile(expression)
