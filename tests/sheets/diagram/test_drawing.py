"""What a diagram says, against what a practitioner must find on it."""

from xml.etree import ElementTree

import pytest
from msgspec.structs import replace

from register.plant import sketch
from register.plant.words import FailPosition, Location, Severity
from register.rules.engine import Verdict, finding
from register.sheets.diagram import draw, render_svg
from tests.sheets import samples
from tests.sheets.diagram.overlaps import contains, overlap


def texts(loop, verdicts=()) -> list[str]:
    return [label.text for sheet in draw(loop, verdicts) for label in sheet.labels]


MINIMUM = {
    "identification of the loop and its components": ["TIC", "TE", "TV", "310"],
    "interrelation to other loop instruments": ["TIC-110", "loop T-110", "Remote set point"],
    "all connections with identification and colour of conductors": [
        "C-310",
        "M-31",
        "1 · red · +",
        "2 · white · −",
        "3 · red · compensation",
    ],
    "junction boxes and terminals": ["JB-31", "MR-2", "41", "42", "43", "11", "12"],
    "grounding": ["screen · earthed at panel"],
    "general location of devices": ["Field", "Junction box", "Marshalling or rack", "Panel", "Hot water tank"],
    "energy sources": ["230\N{NO-BREAK SPACE}V\N{NO-BREAK SPACE}a.c.,"],
    "what is measured and controlled": ["Pt100", "0–200\N{NO-BREAK SPACE}°C"],
    "actions and fail positions of control devices": ["reverse acting", "fails closed (FC)"],
    "signals and set points (optional)": ["4–20 mA", "set point 120\N{NO-BREAK SPACE}°C, remote"],
    "models (optional)": ["Fennel Row Regent 96", "Tarn & Pell Globe 40"],
    "alarms (optional)": ["Alarm 1: high 160\N{NO-BREAK SPACE}°C"],
}
"""Minimum content of a loop diagram by ANSI/ISA-5.4-1991, clause 5 (from memory), and the optional content recorded."""


@pytest.mark.parametrize("item", MINIMUM)
def test_the_minimum_items_of_a_loop_diagram_are_there(item):
    base, cascade = samples.through_junction_box(), sketch.cascade()
    link = replace(cascade.links[-1], target_tag="TIC-310")
    remote = replace(
        base.controllers[0],
        ports=(*base.controllers[0].ports, cascade.controllers[0].port("Remote set point")),
        settings=replace(base.controllers[0].settings, set_point_source="remote"),
        asset=replace(base.controllers[0].asset, boards=cascade.controllers[0].asset.boards),
    )
    loop = replace(
        base,
        tags=(base.tags[0], remote, base.tags[2]),
        links=(*base.links, link),
        neighbours=cascade.neighbours,
    )
    written = "\n".join(label.text for label in draw(loop, width=1100)[0].labels)
    assert [words for words in MINIMUM[item] if words not in written] == []


def test_signal_and_range_stand_at_both_ends_of_a_link():
    assert texts(sketch.pressure_loop()).count("0–10\N{NO-BREAK SPACE}bar (gauge)") == 2


def test_what_is_not_recorded_is_said_to_be():
    loop = sketch.temperature_loop()
    bare = replace(loop.links[0], cores=())
    written = texts(
        sketch.with_port(
            sketch.with_tag(
                replace(loop, links=(bare,)), "TE-101", place="", location=None, asset=None, specified=None
            ),
            "TE-101",
            "Element",
            signal="",
        )
    )
    for words in (
        "wiring not recorded",
        "place not recorded",
        "location not recorded",
        "model not recorded",
        "no asset installed",
        "signal not recorded",
    ):
        assert words in written


def test_a_wire_goes_straight_from_terminal_to_terminal_by_way_of_the_junction_box():
    """Three conductors in three legs, two in three: fifteen wires, and none of them bends."""
    (drawing,) = draw(samples.through_junction_box())
    wires = [wire for wire in drawing.wires if wire.kind == "conductor"]
    assert len(wires) == 15
    assert all(len(wire.points) == 2 and wire.points[0][1] == wire.points[1][1] for wire in wires)


def test_a_screen_is_drawn_once_a_cable_and_earthed_where_it_is_recorded():
    (drawing,) = draw(sketch.temperature_loop())
    assert sum(wire.kind == "screen" for wire in drawing.wires) == 2
    panel = next(outline.box for outline in drawing.outlines if outline.box.x > 300 and outline.kind == "device")
    assert len(drawing.earths) == 2
    assert all(panel.x - 10 < earth.x < panel.x for earth in drawing.earths)


def test_a_cable_recorded_from_the_far_end_is_drawn_the_same():
    loop = sketch.temperature_loop()
    turned = tuple(
        replace(
            core,
            from_place=core.to_place,
            from_terminal=core.to_terminal,
            to_place=core.from_place,
            to_terminal=core.from_terminal,
        )
        for core in loop.links[0].cores
    )
    other = replace(loop, links=(replace(loop.links[0], cores=turned), loop.links[1]))
    assert draw(other) == draw(loop)


def test_the_bubble_says_where_an_instrument_stands():
    """ANSI/ISA-5.1-2009, table 5.1.1: one line on the main panel, none in the field."""
    (drawing,) = draw(sketch.temperature_loop())
    assert sorted(bubble.location for bubble in drawing.bubbles) == [Location.FIELD, Location.FIELD, Location.PANEL]


def test_the_valve_shows_which_way_it_fails():
    loop = sketch.with_tag(sketch.temperature_loop(), "TV-101", fail_position=FailPosition.OPEN)
    (drawing,) = draw(loop)
    (valve,) = (symbol for symbol in drawing.symbols if symbol.name == "valve")
    assert valve.fails == FailPosition.OPEN
    assert "fails open (FO)" in [label.text for label in drawing.labels]


def test_the_boundary_of_the_hazardous_area_stands_before_the_isolator():
    (drawing,) = draw(samples.with_isolator())
    (boundary,) = (divider for divider in drawing.dividers if divider.is_boundary)
    isolator = next(symbol.box for symbol in drawing.symbols if symbol.name == "converter" and symbol.box.x > 300)
    junction_box = next(outline.box for outline in drawing.outlines if outline.kind == "strip")
    assert junction_box.right < boundary.x < isolator.x


def test_a_loop_outside_hazardous_areas_has_no_boundary():
    (drawing,) = draw(sketch.temperature_loop())
    assert not any(divider.is_boundary for divider in drawing.dividers)


def test_each_finding_has_its_flag_at_its_place():
    loop = sketch.temperature_loop()
    said = [
        Verdict("rule-a", Severity.WARNING, finding("TIC-101", "wrong", place="Input")),
        Verdict("rule-b", Severity.ERROR, finding("TV-101", "wrong")),
        Verdict("rule-c", Severity.ADVICE, finding("TIC-101", "wrong", place="bay 2")),
        Verdict("rule-d", Severity.ADVICE, finding("T-101", "wrong")),
        Verdict("rule-e", Severity.ERROR, finding("TE-101", "wrong", place="TE-101 Element → TIC-101 Input")),
    ]
    (drawing,) = draw(loop, said)
    at = {flag.number: flag.box for flag in drawing.flags}
    assert sorted(at) == [1, 2, 3, 4, 5]
    valve, controller = (_box_around(drawing, words) for words in ("fails closed (FC)", "reverse acting"))
    assert contains(valve, at[1])
    assert not any(overlap(outline.box, at[2]) for outline in drawing.outlines)
    assert contains(controller, at[3])
    assert contains(controller, at[4])
    assert at[5].y < 30


def _box_around(drawing, words: str):
    label = next(label for label in drawing.labels if label.text == words)
    return next(
        outline.box for outline in drawing.outlines if outline.kind == "device" and contains(outline.box, label.box)
    )


def test_a_reference_to_another_loop_leads_there():
    drawn = ElementTree.fromstring(render_svg(sketch.cascade(), link_for=lambda number: f"/loops/{number}/"))
    (link,) = drawn.iter("{http://www.w3.org/2000/svg}a")
    assert link.get("href") == "/loops/T-110/"
    assert drawn.get("role") == "group"


def test_a_drawing_without_links_is_one_image_told_in_words():
    drawn = ElementTree.fromstring(render_svg(sketch.pressure_loop()))
    assert drawn.get("role") == "img"
    assert drawn[0].text == "Loop diagram of P-201"
    assert "PT-201 Output to PIC-201 Input by C-2011" in drawn[1].text


def test_markup_in_a_name_is_drawn_and_not_read():
    loop = sketch.with_tag(sketch.temperature_loop(), "TE-101", place='<a href="x">&')
    assert '<a href="x">&' in texts(loop)
    drawn = ElementTree.fromstring(render_svg(loop))
    assert not list(drawn.iter("{http://www.w3.org/2000/svg}a"))


def test_a_loop_with_nothing_in_it_is_drawn_and_says_so():
    assert texts(samples.ALL["empty"]()) == ["Field", "Panel", "nothing is wired"]


def test_two_valves_in_series_are_drawn_in_series():
    """The second valve's wires start at the first: none of them is drawn from the controller, none as not recorded."""
    loop = samples.split_range()
    first, second = (next(link for link in loop.links if link.target_tag == name) for name in ("PV-640A", "PV-640B"))
    onward = tuple(replace(core, from_place="PV-640A", from_terminal=f"out {core.core}") for core in second.cores)
    (drawing,) = draw(replace(loop, links=(*loop.links[:2], first, replace(second, cores=onward), loop.links[4])))
    assert all(wire.kind != "unrecorded" for wire in drawing.wires)
    labels = {label.text: label for label in drawing.labels}
    assert {"out 1", "out 2"} <= labels.keys()
    assert [label.text for label in drawing.labels].count("Output 1") == 1


def test_a_supply_of_another_loop_bends_no_wire():
    loop = sketch.pressure_loop()
    supply = replace(
        loop.controllers[0], name="PY-9", loop="P-9", ports=(loop.controllers[0].port("Supply 24 V"),), asset=None
    )
    fed = replace(loop.links[1], source_tag="PY-9", cores=())
    (drawing,) = draw(replace(loop, links=(loop.links[0], fed, loop.links[2]), neighbours=(supply,)))
    assert all(len(wire.points) == 2 for wire in drawing.wires)
