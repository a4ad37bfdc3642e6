"""P&IDs as they are read, held against the elements of the public DEXPI examples and the DEXPI specification 1.3."""

from __future__ import annotations

import pytest

from register.exchange.dexpi import reading
from register.exchange.dexpi.drawing import Line, from_json
from register.exchange.dexpi.reading import NotADrawing, read_drawing
from register.plant.words import FailPosition, Location, Role
from tests.exchange.dexpi import drawings
from tests.exchange.dexpi.drawings import LEVEL, PLANT, TANK, read


@pytest.mark.parametrize("data", [PLANT, LEVEL, TANK], ids=["C01", "I01", "E14"])
def test_every_loop_function_and_line_is_read(data):
    drawing, held = read(data), drawings.counts(data)
    assert len(drawing.loops) == held["loops"]
    assert len(drawing.functions) == held["functions"]
    assert len(drawing.lines) == held["lines"]
    assert (drawing.faults, drawing.left_out) == ((), ())


def test_a_control_loop_is_read_with_its_valve_and_where_it_measures():
    """C01: the temperature of tank T4750 at nozzle N7 moves a globe valve in line 47141 that fails open."""
    drawing = read(PLANT)
    assert (drawing.name, drawing.revision) == ("123/A93 sheet 2a", "R2.2")
    assert (drawing.area_code, drawing.area_name) == ("10", "Utilities")
    controller, sensor, valve = (one for one in drawing.functions if one.loop == "T-4750.03")
    assert (controller.tag, controller.role, controller.location) == ("TICSA-4750.03", Role.CONTROLLER, Location.PANEL)
    assert (sensor.tag, sensor.role, sensor.place) == ("TT4750.03", Role.TRANSMITTER, "nozzle N7 of tank T4750")
    assert (valve.tag, valve.role, valve.place) == ("TV4750.03", Role.FINAL_ELEMENT, "globe valve on line 47141")
    assert valve.fail_position == FailPosition.OPEN
    assert {Line("TT4750.03", "TICSA-4750.03"), Line("TICSA-4750.03", "TV4750.03")} <= set(drawing.lines)


def test_a_hand_switch_and_a_field_gauge_are_told_from_controllers():
    """C01: HS 4750.01 stands in the control room, PI 4712.01 in the field."""
    roles = {one.tag: (one.role, one.location) for one in read(PLANT).functions}
    assert roles["HS-4750.01"] == (Role.SET_POINT_SOURCE, Location.PANEL)
    assert roles["PI-4712.01"] == (Role.INDICATOR, Location.FIELD)


def test_a_sensor_without_a_name_is_named_by_its_loop():
    """I01: the level of tank T01; the drawing names the loop and the indication alone. E is a sensor (ISA-5.1)."""
    drawing = read(LEVEL)
    assert drawing.loops == ("L-01",)
    assert [(one.tag, one.role) for one in drawing.functions] == [("LE-01", Role.SENSOR), ("LI-01", Role.INDICATOR)]
    assert drawing.name == "drawing"


@pytest.mark.parametrize("data", [PLANT, LEVEL], ids=["C01", "I01"])
def test_another_export_of_the_same_drawing_says_the_same(data):
    assert read(drawings.with_other_identifiers(data)) == read(data)


def test_a_drawing_is_kept_and_found_again_as_it_was_read():
    assert from_json(read(PLANT).as_json()) == read(PLANT)


def test_names_that_no_address_can_bear_are_made_fit():
    data = drawings.replaced(LEVEL, 'Value = "01"', 'Value = "01/2"')
    assert read(data).loops == ("L-01-2",)


def test_a_function_drawn_twice_and_one_without_a_number_are_faults():
    twice = drawings.attribute(PLANT, "ProcessSignalGeneratingFunction-1", NUMBER_OF_SENSOR, "PT4712.02")
    assert read(twice).faults == ("PT4712.02 stands on the drawing twice. Name each function once.",)
    number = "ProcessInstrumentationFunctionNumberAssignmentClass"
    unnumbered = read(drawings.attribute(PLANT, "ProcessInstrumentationFunction-3", number, ""))
    assert unnumbered.faults == (
        "A function HS has no number. Give it one.",
        "actuating function HV4750.01 serves no function that has a number. Join it to one by a signal line.",
    )


NUMBER_OF_SENSOR = "ProcessSignalGeneratingFunctionNumberAssignmentClass"


def test_two_loops_of_one_number_are_a_fault():
    number = "InstrumentationLoopFunctionNumberAssignmentClass"
    data = drawings.attribute(PLANT, "InstrumentationLoopFunction-1", number, "4712.02")
    assert "Two loops of the drawing have the number P-4712.02." in read(data).faults


def test_a_line_that_leaves_the_drawing_is_told():
    data = drawings.added(
        PLANT,
        "ProcessInstrumentationFunction-4",
        '<InformationFlow ID="F9"><Association Type="has logical start" ItemID="ProcessInstrumentationFunction-4"/>'
        "</InformationFlow>",
    )
    assert read(data).left_out == ("a signal line from TICSA-4750.03 that ends at no function of this drawing",)


def test_a_loop_without_members_and_a_function_without_a_loop_come_in_too():
    """A cascade: a function that no loop holds, and its line to another controller."""
    about = drawings.generic(
        ProcessInstrumentationFunctionCategoryAssignmentClass="F",
        ProcessInstrumentationFunctionsAssignmentClass="IC",
        ProcessInstrumentationFunctionNumberAssignmentClass="77",
    )
    data = drawings.added(
        PLANT,
        "",
        f'<ProcessInstrumentationFunction ID="P9">{about}<InformationFlow ID="F9"><Connection FromID="P9" '
        'ToID="ProcessInstrumentationFunction-4"/></InformationFlow></ProcessInstrumentationFunction>',
    )
    empty = drawings.generic(InstrumentationLoopFunctionNumberAssignmentClass="X-1")
    data = drawings.added(data, "", f'<InstrumentationLoopFunction ID="L9">{empty}</InstrumentationLoopFunction>')
    drawing = read(data)
    assert {"F-77", "X-1"} < set(drawing.loops)
    assert Line("FIC-77", "TICSA-4750.03") in drawing.lines


def test_what_is_namespaced_or_in_another_encoding_is_read_alike():
    spaced = drawings.replaced(LEVEL, "<PlantModel>", '<PlantModel xmlns="urn:example:proteus">')
    assert read(spaced) == read(LEVEL)
    assert read(drawings.replaced(LEVEL, "utf-8", "utf-16").decode().encode("utf-16")) == read(LEVEL)


BILLION = b"""<?xml version="1.0"?><!DOCTYPE PlantModel [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;&a;">]>
<PlantModel><MetaData ID="&b;"/></PlantModel>"""
OUTSIDE = b'<!DOCTYPE PlantModel [<!ENTITY x SYSTEM "file:///etc/passwd">]><PlantModel ID="x"/>'
REMOTE = b'<!DOCTYPE PlantModel SYSTEM "http://example.invalid/x.dtd"><PlantModel/>'


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "The file is empty"),
        (b"%PDF-1.7 a drawing", "not XML, or it is damaged"),
        (b"PK\x03\x04", "not XML, or it is damaged"),
        (PLANT[:5000], "not XML, or it is damaged"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no P&ID in the DEXPI exchange: it holds “svg”"),
        (b"<Model name='x'/>", "Export the drawing as Proteus XML"),
        (BILLION, "declares a document type or entities"),
        (OUTSIDE, "declares a document type or entities"),
        (REMOTE, "declares a document type or entities"),
        (b'<?xml version="1.0" encoding="no-such"?><PlantModel/>', "not XML, or it is damaged"),
        (b"<PlantModel>" + b"<Equipment>" * 200, "deep within each other"),
    ],
)
def test_what_is_no_drawing_or_could_do_harm_is_refused_with_the_remedy(data, says):
    with pytest.raises(NotADrawing, match=says):
        read(data)


def test_a_file_that_is_too_large_is_refused_before_it_is_read(monkeypatch):
    monkeypatch.setattr(reading, "GREATEST_FILE", 100)
    with pytest.raises(NotADrawing, match="larger than"):
        read(LEVEL)
    monkeypatch.undo()
    monkeypatch.setattr(reading, "MOST_ELEMENTS", 10)
    with pytest.raises(NotADrawing, match="more than 10 parts"):
        read(LEVEL)


def test_a_drawing_without_instruments_holds_none():
    """E14: a tank alone."""
    assert read_drawing(TANK, "E14V01.xml").functions == ()
    assert read_drawing(TANK, "E14V01.xml").name == "E14V01"
