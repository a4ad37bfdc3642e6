"""The contents of a pack, one line a sheet in letters of one width: a table takes five times as long to lay out."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from register.models import Pack
from register.sheets.diagram.text import plain, runs_right_to_left
from register.sheets.drawing import Sheet
from register.sheets.pdf import html_to_pdf, printed_html
from register.sheets.sheet import FOOT_MM, MARGIN_MM, PAPERS
from register.sheets.standing import Look

LINK = "pack:"
"""Begins the address of a sheet's line, until the places of the sheets are known; its first page's number follows."""
_LETTER_EM = 0.602  # DejaVu Sans Mono
_PAGE, _NUMBER, _STANDING, _GAP = 5, 18, 40, "  "


def contents_pdf(pack: Pack, sheets: Sequence[Sheet], look: Look, pages: Mapping[str, int]) -> bytes:
    """Who asked for what, and the sheets. Where they are pages of one file, ``pages`` gives each one's by its loop."""
    paper = PAPERS[look.paper]
    room = int(paper.width_mm / 25.4 * 72 / (paper.text_pt * _LETTER_EM)) - _PAGE - _NUMBER - _STANDING - 4 * len(_GAP)
    widths = (_NUMBER, room * 3 // 5, room * 2 // 5, _STANDING)
    lines = []
    for place, sheet in enumerate(sheets):
        page = pages.get(sheet.number, place) + 1
        standing = f"revision {sheet.revision.number} of {sheet.revision.at:%Y-%m-%d}, {sheet.issue}"
        line = _line(page, (sheet.number, sheet.service, sheet.area, standing), widths)
        lines.append((f"{LINK}{page - 1}" if pages else "", line))
    head = _line("Page" if pages else "Sheet", ("Loop", "Service", "Area", "Revision and issue"), widths)
    context = {
        "pack": pack,
        "lines": lines,
        "head": head,
        "look": look,
        "paper": paper,
        "margin_mm": MARGIN_MM,
        "foot_mm": FOOT_MM,
    }
    return html_to_pdf(printed_html("packs/contents.html", context))


def _line(first: int | str, cells: Sequence[str], widths: Sequence[int]) -> SafeString:
    shown = ((_cell(cell, width),) for cell, width in zip(cells, widths, strict=True))
    return format_html("{:>5}{}{}", first, _GAP, format_html_join(_GAP, "{}", shown))


def _cell(text: str, width: int) -> SafeString:
    """The text, cut or filled up to a width in letters; other scripts are set apart, so that they bend no column."""
    text = plain(text)
    if _letters(text) > width:
        while _letters(text) > width - 1:
            text = text[:-1]
        text += "…"
    fill = " " * round(width - _letters(text))
    apart = runs_right_to_left(text) or any(map(_is_wide, text))
    return format_html("<bdi>{}</bdi>{}" if apart else "{}{}", text, fill)


def _letters(text: str) -> float:
    """How many letters wide a text is: full-width characters are a square, marks above others take no room."""
    return sum(1 / _LETTER_EM if _is_wide(one) else not unicodedata.combining(one) for one in text)


def _is_wide(one: str) -> bool:
    return unicodedata.east_asian_width(one) in "WF"  # Unicode Standard Annex 11
