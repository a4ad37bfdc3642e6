import subprocess
from functools import cache

import pytest
from fontTools.ttLib import TTFont

from register.sheets.diagram.text import fit, plain, visual, width


@cache
def font(style: str) -> TTFont:
    file = subprocess.run(
        ["fc-match", "-f", "%{file}", f"DejaVu Sans:{style}"], capture_output=True, text=True, check=True
    ).stdout
    if not file.endswith(("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")):
        pytest.skip("DejaVu Sans is not installed")
    return TTFont(file)


@pytest.mark.parametrize("text", ["PDIC-2045A", "0–16.00 bar (gauge), −5 µm ≤ 3·10⁻² Ω", "Größe Ž Ωμ Дом", "שלום"])
@pytest.mark.parametrize(("bold", "style"), [(False, "style=Book"), (True, "style=Bold")])
def test_widths_are_those_of_the_font_that_a_sheet_embeds(text, bold, style):
    """Advance widths of the installed DejaVu Sans, read by fontTools."""
    face = font(style)
    glyphs, advances = face.getBestCmap(), face["hmtx"]
    expected = sum(advances[glyphs[ord(char)]][0] for char in text) * 10 / face["head"].unitsPerEm
    assert width(text, 10, bold=bold) == pytest.approx(expected)


@pytest.mark.parametrize("bold", [False, True])
def test_chinese_and_japanese_are_as_wide_as_high(bold):
    """Full-width characters fill a square (Unicode Standard Annex 11); so they do in Droid Sans Fallback."""
    assert width("温度ボイラ", 10, bold=bold) == 50


def test_a_name_of_200_letters_is_cut_to_its_room_and_says_so():
    cut = fit("W" * 200, 60, 7)
    assert cut.endswith("…")
    assert width(cut, 7) <= 60


def test_a_cut_never_parts_a_letter_from_its_accent():
    assert fit("e\u0301" * 50, 20, 7).removesuffix("…").endswith("\u0301")


def test_characters_that_cannot_be_drawn_are_shown_and_directions_are_taken_out():
    assert plain("a\x00b\u202ec\nd") == "a\ufffdbc d"


def test_hebrew_is_put_in_the_order_in_which_it_is_drawn():
    """Unicode Standard Annex 9: a right-to-left word is displayed from its last letter to its first."""
    assert visual("\u05e9\u05dc\u05d5\u05dd") == "\u05dd\u05d5\u05dc\u05e9"


def test_arabic_letters_are_joined():
    """Unicode chart FE70–FEFF: beh initial FE91, teh final FE96; drawn from the right."""
    assert visual("\u0628\u062a") == "\ufe96\ufe91"
