"""Indexes of four hands come in as the register's own rows; what cannot be read is asked once."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from openpyxl import Workbook

from register.calc.tag_patterns import USUAL
from register.exchange.foreign.files import IndexFile, open_index
from register.exchange.foreign.guessing import guess_mapping
from register.exchange.foreign.headings import find_headings, headings_at
from register.exchange.foreign.indexes import LEAVE_OUT, LETTERS, REST, Index, Mapping
from register.exchange.foreign.making import make_reading
from register.exchange.foreign.standing import what_stands
from register.exchange.reading import WorkbookRefused, import_reading
from register.models import Alarm, Area, Loop, Port, Tag
from register.plant import sketch
from tests import factories
from tests.exchange.foreign import indexes
from tests.exchange.workbooks import saved

pytestmark = pytest.mark.django_db


def mapped(file: IndexFile, sheet: str = "", **answers: dict[str, str]) -> Mapping:
    """The mapping that the register proposes, with these answers."""
    headings = find_headings(file.lines(sheet), file.merged(sheet))
    mapping, _ = guess_mapping(file.lines(sheet), headings, USUAL)
    return replace(mapping, answers={key.replace("letters", LETTERS): given for key, given in answers.items()})


def read(data: bytes, mapping: Mapping, sheet: str = "") -> Index:
    file = open_index(data)
    headings = headings_at(file.lines(sheet), mapping.heading_row, mapping.heading_rows, file.merged(sheet))
    index = Index(lambda: file.lines(sheet), headings, mapping, what_stands())
    list(index.entries())
    return index


def asked(index: Index) -> list[tuple[str, str, int]]:
    return [(question.key, question.text, question.rows) for question in index.questions()]


def brought_in(index: Index, by, sheet: str = "Index"):
    reading = make_reading(index, sheet)
    assert reading.problems == []
    return import_reading(reading, by=by, name="index").counts


def test_the_mess_is_asked_about_once_for_each_text(person):
    data = indexes.mess()
    mapping = mapped(open_index(data))
    index = read(data, mapping)
    assert asked(index) == [("cutout", "1/8 DIN", 2), ("signal", "vier bis zwanzig", 2)]
    assert [(one.row, one.why) for one in index.passed_over] == [
        (6, "a line between the rows"), (11, "the headings again"), (15, "a total"),
    ]  # fmt: skip


def test_the_mess_comes_in_when_its_questions_are_answered(person):
    data = indexes.mess()
    mapping = mapped(open_index(data), signal={"vier bis zwanzig": "4-20mA"}, cutout={"1/8 DIN": "1/8 DIN upright"})
    counts = brought_in(read(data, mapping), person("planner"))
    assert (counts["Tags"].added, counts["Loops"].added, counts["Areas"].added) == (6, 4, 2)
    tags = {tag.name: tag for tag in Tag.objects.select_related("loop__area")}
    assert {name: (tag.role, tag.loop.number) for name, tag in tags.items()} == {
        "TIC-701": ("controller", "T-701"),
        "TT-701": ("transmitter", "T-701"),
        "TV-701A": ("final element", "T-701"),
        "702TI": ("indicator", "702T"),
        "10-TIC-0703": ("controller", "10-T-0703"),
        "TE-703": ("sensor", "T-703"),
    }
    assert tags["TIC-701"].loop.area.name == "Darre 1"
    assert tags["TIC-701"].loop.criticality == "safety"
    assert tags["TIC-701"].loop.kind == "control"
    assert tags["702TI"].loop.kind == "indication"
    assert tags["TV-701A"].description == "Heizventil Süd"
    assert (tags["TIC-701"].cutout_width_mm, tags["TIC-701"].cutout_height_mm) == (Decimal(45), Decimal(92))
    port = Port.objects.get(tag__name="TIC-701")
    assert (port.name, port.direction, port.purpose, port.signal) == ("Input", "in", "measurement", "pt100")
    assert (str(port.range_low), str(port.range_high), port.range_unit) == ("-10.5", "120.0", "CEL")
    assert str(Port.objects.get(tag__name="702TI").range_high) == "1.250"
    alarms = dict(Alarm.objects.filter(tag__name="TIC-701").values_list("kind", "set_point"))
    assert alarms == {"high": Decimal("1095.5"), "high-high": Decimal(110)}


def test_hai_points_come_in_with_none_lost(person):
    """87 points of an open data set; a unit of “-” is asked about and never guessed, 2,500 is 2500."""
    data = indexes.hai()
    mapping = mapped(open_index(data))
    index = read(data, mapping)
    assert mapping.patterns.splitlines()[0] == "{area}_{letters}{number}[{suffix}]"
    assert ("unit", "-", 8) in asked(index)
    assert ("unit", "Boolean", 17) in asked(index)
    mapping = replace(
        mapping, area="W", answers={"unit": {REST: LEAVE_OUT, "Voltage": "V"}, LETTERS: {REST: "set-point source"}}
    )
    counts = brought_in(read(data, mapping), person("planner"))
    assert counts["Tags"].added == 87
    assert set(Area.objects.values_list("code", flat=True)) == {"P1", "P2", "P3", "W"}
    assert Tag.objects.get(name="P1_FCV01D").loop == Tag.objects.get(name="P1_FT01").loop
    port = Port.objects.get(tag__name="P1_FT01")
    assert (port.range_high, port.range_unit) == (2500, "HP")
    assert not Port.objects.filter(tag__name="P3_FIT01").exists()


def test_tennessee_points_come_in_by_the_loops_that_their_list_names(person):
    """53 points and 20 controllers; names with brackets stay, 11 loops hold what is measured and manipulated."""
    data = indexes.tennessee()
    mapping = mapped(open_index(data), "Points")
    assert mapping.patterns.splitlines()[0] == "{letters}({number})"
    mapping = replace(mapping, area="TE")
    index = read(data, mapping, "Points")
    assert asked(index)[:3] == [("role", "measured", 41), ("unit", "mol%", 19), ("role", "manipulated", 12)]
    mapping = replace(
        mapping,
        answers={
            "role": {"measured": "transmitter", "manipulated": "final element"},
            "unit": {"kscmh": LEAVE_OUT, "mol%": "%"},
        },
    )
    counts = brought_in(read(data, mapping, "Points"), person("planner"))
    assert counts["Tags"].added == 53 + 20
    loop = Loop.objects.get(number="CTRL10")
    assert sorted(loop.tags.values_list("name", flat=True)) == ["CTRL(10)", "XMEAS(21)", "XMV(10)"]
    assert loop.kind == "control"
    assert Tag.objects.get(name="XMEAS(9)").loop.number == "XMEAS(9)"


def test_numbers_that_come_first_and_headings_of_two_rows(person):
    data = indexes.number_first()
    mapping = mapped(open_index(data), "Loops")
    columns = {key: place for place, key in mapping.columns.items()}
    assert {"tag": 0, "unit": 3, "fail": 4}.items() <= columns.items()
    mapping = replace(mapping, columns=mapping.columns | {2: "loop.normal_value", 1: "service"}, area="TE",
                      answers={"unit": {REST: LEAVE_OUT}})  # fmt: skip
    counts = brought_in(read(data, mapping, "Loops"), person("planner"))
    assert (counts["Tags"].added, counts["Loops"].added) == (33, 11)
    tag = Tag.objects.select_related("loop").get(name="110TC")
    assert (tag.role, tag.loop.number, tag.loop.normal_value) == ("controller", "110T", Decimal("94.599"))
    assert Tag.objects.get(name="110TV").fail_position == "closed"


@pytest.mark.parametrize("write", [indexes.hai, indexes.mess])
def test_the_same_index_again_changes_nothing(write, person):
    data = write()
    mapping = replace(
        mapped(open_index(data)), area="W",
        answers={key: {REST: LEAVE_OUT} for key in ("unit", "signal", "cutout", LETTERS)},
    )  # fmt: skip
    brought_in(read(data, mapping), person("planner"))
    again = brought_in(read(data, mapping), person("planner"))
    assert not any(count.added or count.changed for count in again.values())


def small(*rows: list) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    return saved(book)


def of_small(*rows: list, **answers: dict[str, str]) -> Index:
    data = small(*rows)
    return read(data, replace(mapped(open_index(data), "Sheet", **answers), area="BH"), "Sheet")


@pytest.fixture
def loop(person):
    return factories.loop(sketch.temperature_loop("101"), by=person("planner"))


def test_an_index_speaks_of_what_the_register_holds_however_either_writes_it(loop, person):
    """Names, ports and the loop of a known tag stay; what the index leaves empty stays as well."""
    place, before = Tag.objects.get(name="TIC-101").place, Port.objects.count()
    index = of_small(
        ["Tag", "Description", "Place", "Range (°C)", "Signal"],
        ["TIC 101", "Kiln air", None, "0-300", None],
        ["te_101", None, None, None, None],
    )
    counts = brought_in(index, person("planner"), "Sheet")
    assert (counts["Tags"].added, counts["Tags"].changed, counts["Ports"].changed) == (0, 1, 1)
    tag = Tag.objects.get(name="TIC-101")
    assert (tag.description, tag.place, tag.loop) == ("Kiln air", place, loop)
    port = tag.ports.get(purpose="measurement")
    assert (port.range_low, port.range_high, port.name) == (0, 300, "Input")
    assert port.signal
    assert Port.objects.count() == before


def test_areas_around_areas_are_kept(loop, person):
    brought_in(of_small(["Tag", "Area"], ["TT-900", "New hall"]), person("planner"), "Sheet")
    assert loop.area.path == Area.objects.get(pk=loop.area.pk).path
    assert Area.objects.get(code="New hall").path == "New hall"


def test_problems_name_the_sheet_row_and_heading_of_the_index(person):
    index = of_small(["Instrument No.", "LRV", "URV", "Units"], ["TT-1", 0, 100, "degC"], ["TT-1", 50, 20, "degC"])
    with pytest.raises(WorkbookRefused) as refused:
        import_reading(make_reading(index, "Sheet"), by=person("planner"), name="x")
    assert [(one.sheet, one.row, one.column) for one in refused.value.problems] == [("Sheet", 3, "Instrument No.")]
    index = of_small(["Instrument No.", "LRV", "URV", "Units"], ["TT-2", 50, 20, "degC"])
    with pytest.raises(WorkbookRefused) as refused:
        import_reading(make_reading(index, "Sheet"), by=person("planner"), name="x")
    assert [(one.row, one.column, one.found) for one in refused.value.problems] == [(2, "URV", "20")]


def test_rows_that_contradict_each_other_about_their_loop_are_told(person):
    index = of_small(["Tag", "Area"], ["TT-1", "Kiln 1"], ["TIC-1", "Kiln 2"])
    (problem,) = make_reading(index, "Sheet").problems
    assert (problem.row, problem.column, problem.found) == (3, "Area", "Kiln 2")
    assert "Row 2 says otherwise" in problem.message


def test_a_model_that_the_catalogue_does_not_hold_is_added_with_its_maker(person):
    index = of_small(["Tag", "Manufacturer", "Model"], ["TT-1", "Quarrymoor", "Sill"], ["TT-2", "Quarrymoor", "Sill"])
    counts = brought_in(index, person("planner"), "Sheet")
    assert counts["Models"].added == 1
    assert str(Tag.objects.get(name="TT-2").specified) == "Quarrymoor Sill"
    index = of_small(["Tag", "Model"], ["TT-3", "sill"], ["TT-4", "Unheard of"])
    reading = make_reading(index, "Sheet")
    assert [(one.row, one.found) for one in reading.problems] == [(3, "Unheard of")]


def test_a_tag_in_columns_of_its_parts_is_put_together(person):
    index = of_small(
        ["Unit No.", "Function", "Sequence", "Suffix"], ["10", "PDT", "0203", "A"], ["10", "PDIC", "0203", ""]
    )
    brought_in(index, person("planner"), "Sheet")
    assert sorted(Tag.objects.values_list("name", "loop__number")) == [
        ("10-PDIC-0203", "10-PD-0203"), ("10-PDT-0203A", "10-PD-0203"),
    ]  # fmt: skip


def test_an_edit_stands_in_the_place_of_the_cell(person):
    data = small(["Tag", "Range"], ["TT-1", "nought to ten bar"])
    mapping = replace(mapped(open_index(data), "Sheet"), area="BH")
    assert asked(read(data, mapping, "Sheet")) == [("range", "nought to ten bar", 1)]
    index = read(data, replace(mapping, edits={(2, 1): "0-10 bar"}), "Sheet")
    assert asked(index) == []
    brought_in(index, person("planner"), "Sheet")
    assert Port.objects.get().range_unit == "BAR"


def test_rows_are_left_out_where_that_was_answered(person):
    index = of_small(
        ["Tag", "Service"], ["TT-1", "x"], ["QQQ-1", "y"], ["spare", "z"],
        letters={"QQQ": LEAVE_OUT}, tag={"spare": LEAVE_OUT},
    )  # fmt: skip
    assert [(one.row, one.why) for one in index.passed_over] == [(3, "left out"), (4, "left out")]
    assert brought_in(index, person("planner"), "Sheet")["Tags"].added == 1


def test_the_number_of_queries_does_not_grow_with_the_rows(django_assert_num_queries):
    index = of_small(["Tag", "Range (bar)"], *([f"PT-{number}", "0-10"] for number in range(300)))
    with django_assert_num_queries(4):  # one for each of the tables that it fills: areas, loops, tags, ports
        make_reading(index, "Sheet")
    with django_assert_num_queries(6):
        what_stands()


def test_of_a_long_index_its_first_lines_can_be_read_alone():
    data = small(["Tag"], *([f"PT-{number}"] for number in range(50)))
    file = open_index(data)
    headings = find_headings(file.lines("Sheet"))
    index = Index(lambda: file.lines("Sheet"), headings, mapped(file, "Sheet"), what_stands(), 11)
    assert len(list(index.entries())) == 10
    assert index.is_cut
