from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.plant.diff import changes
from register.rules.engine import check
from register.sheets.diagram import draw, render_svg
from tests.sheets.diagram.overlaps import faults
from tests.sheets.samples import ALL
from tests.sheets.strategies import loops, verdicts


@given(st.data())
def test_nothing_overlaps_and_nothing_leaves_the_frame_whatever_the_loop(data):
    loop = data.draw(loops())
    found = data.draw(verdicts(loop))
    differ = changes(data.draw(loops()), loop)
    for height in (None, 440):
        for drawing in draw(loop, found, changes=differ, first_height=height):
            assert faults(drawing) == []


@given(st.data())
def test_every_loop_gives_well_formed_svg_without_styles_or_scripts(data):
    loop = data.draw(loops(most_tags=3))
    drawn = ElementTree.fromstring(render_svg(loop, data.draw(verdicts(loop)), lambda number: f"/{number}/"))
    for element in drawn.iter():
        assert element.tag.rpartition("}")[2] not in ("script", "style", "foreignObject")
        assert not any(name == "style" or name.startswith("on") for name in element.attrib)


@pytest.mark.parametrize("name", ALL)
def test_the_samples_have_no_fault(name):
    loop = ALL[name]()
    for drawing in draw(loop, check(loop), first_height=440):
        assert faults(drawing) == []


@pytest.mark.parametrize("name", [name for name in ALL if name != "thirty tags"])
def test_text_stays_legible_on_a4(name):
    """At least 6.5 points: ISO 3098 asks for 1.8 mm capitals at the least, common practice prints sheets smaller."""
    (drawing,) = draw(ALL[name]())
    scale = 277 / 25.4 * 72 / drawing.width  # points a unit between margins of 10 mm
    assert min((label.size for label in drawing.labels), default=7) * scale >= 6.5


def test_thirty_tags_flow_over_several_sheets_that_name_each_other_and_lose_no_wire():
    loop = ALL["thirty tags"]()
    (whole,) = draw(loop)
    sheets = draw(loop, first_height=440)
    assert len(sheets) > 1
    assert all(sheet.height <= 440 for sheet in sheets)
    assert sum(len(sheet.wires) for sheet in sheets) == len(whole.wires)
    assert [sheet.labels[-1].text for sheet in sheets[:2]] == [
        f"diagram sheet 1 of {len(sheets)}",
        f"diagram sheet 2 of {len(sheets)}",
    ]


def test_a_controller_that_needs_two_sheets_says_so_on_both():
    first, second = (
        [label.text for label in sheet.labels] for sheet in draw(ALL["heat and cool"](), first_height=330)[:2]
    )
    assert "also on sheet 2" in first
    assert "see sheet 1" in second
