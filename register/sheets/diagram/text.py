"""Text of a drawing: made safe to draw, measured, cut to a width, and put in the order in which it is drawn."""

from __future__ import annotations

import csv
import re
import unicodedata
from functools import cache
from importlib import resources

from arabic_reshaper import reshape
from bidi import get_display

FAMILY = "DejaVu Sans, Verdana, sans-serif"
"""What the drawing is set in. Verdana has the same widths; other sans-serif fonts are narrower."""

_EM = 2048
_WIDE, _EMOJI = _EM, round(1.3 * _EM)  # a character that the table lacks: Chinese and other full-width scripts; emoji


@cache
def _advances() -> tuple[dict[str, int], dict[str, int]]:
    regular: dict[str, int] = {}
    bold: dict[str, int] = {}
    text = resources.files("register.sheets.diagram").joinpath("dejavu_sans.csv").read_text(encoding="utf-8")
    for row in csv.DictReader(line for line in text.splitlines() if not line.startswith("#")):
        for code in range(int(row["first"], 16), int(row["last"], 16) + 1):
            regular[chr(code)], bold[chr(code)] = int(row["regular"]), int(row["bold"])
    return regular, bold


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a text set in a size, in the size's unit. Characters outside the table count as wide as they can be.

    >>> round(width("mm", 10), 2)
    19.48
    """
    known = _advances()[bold]
    total = sum(known.get(char) or (_EMOJI if char >= "\U0001f000" else _WIDE) for char in visual(text))
    return total * size / _EM


def fit(text: str, room: float, size: float, *, bold: bool = False) -> str:
    """The text, or as much of its beginning as fits, with an ellipsis.

    >>> fit("Steam header", 40, 7)
    'Steam h…'
    """
    text = plain(text)
    if width(text, size, bold=bold) <= room:
        return text
    shown = 0
    for end in range(1, len(text)):
        if width(text[:end].rstrip() + "…", size, bold=bold) > room:
            break
        shown = end
    while shown < len(text) and unicodedata.combining(text[shown]):
        shown -= 1  # never part a letter from its marks
    return text[: max(shown, 0)].rstrip() + "…"


def wrap(text: str, room: float, size: float, *, bold: bool = False, most: int = 2) -> list[str]:
    """The text on as many lines as it needs, parted at blanks; what the last allowed line cannot hold is cut.

    >>> wrap("0.00–16.00 bar (gauge)", 60, 7)
    ['0.00–16.00 bar', '(gauge)']
    """
    words = []
    for word in plain(text).split(" "):
        bound = width(word, size, bold=bold) <= room
        words += [word] if bound else word.split("\N{NO-BREAK SPACE}")
    lines = [words[0]]
    for nth, word in enumerate(words[1:], start=1):
        longer = f"{lines[-1]} {word}"
        if width(longer, size, bold=bold) <= room:
            lines[-1] = longer
        elif len(lines) == most:
            lines[-1] = " ".join([lines[-1], *words[nth:]])
            break
        else:
            lines.append(word)
    return [fit(line, room, size, bold=bold) for line in lines]


def fit_facts(text: str, room: float, size: float) -> str:
    """Facts parted by " · ", the last ones left out until the rest fits.

    >>> fit_facts("C-101 · 4 × 1.5 mm² · 60 m", 80, 7)
    'C-101 · 4 × 1.5 mm²'
    """
    facts = plain(text).split(" · ")
    while len(facts) > 1 and width(" · ".join(facts), size) > room:
        facts.pop()
    return fit(" · ".join(facts), room, size)


def plain(text: str) -> str:
    """The text on one line, with what cannot be drawn made visible.

    >>> plain("a\\tb\\x07")
    'a b�'
    """
    return re.sub(" +", " ", "".join(map(_drawable, text))).strip()


def _drawable(char: str) -> str:
    if char.isspace():
        return char if char == "\N{NO-BREAK SPACE}" else " "
    category = unicodedata.category(char)
    if category in ("Cc", "Cs", "Co", "Cn"):
        return "\N{REPLACEMENT CHARACTER}"
    if category == "Cf":  # directions and joiners that would turn the text around them
        return ""
    return char


def runs_right_to_left(text: str) -> bool:
    return any(unicodedata.bidirectional(char) in ("R", "AL") for char in text)


def visual(text: str) -> str:
    """The characters from left to right as they are drawn.

    A PDF's drawing sets letter by letter and knows neither Arabic joining nor direction, so both are settled here.

    >>> visual("\u05d0\u05d1 K1") == "K1 \u05d1\u05d0"
    True
    """
    return get_display(reshape(text)) if runs_right_to_left(text) else text
