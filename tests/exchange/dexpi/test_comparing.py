"""Drawing against register, and drawings brought in: the public DEXPI examples and revisions made of them by hand."""

from __future__ import annotations

from datetime import date

import pytest

from register.exchange.dexpi.comparing import Kind, compare
from register.exchange.dexpi.drawing import Drawing
from register.exchange.dexpi.making import make_reading
from register.exchange.dexpi.standing import what_stands
from register.exchange.reading import import_reading
from register.models import Area, Link, Loop, Port, Revision, Tag
from tests.exchange.dexpi import drawings
from tests.exchange.dexpi.drawings import LEVEL, PLANT, read

pytestmark = pytest.mark.django_db


@pytest.fixture
def bring_in(person):
    def bring_in(drawing: Drawing, area: str = "", taken: tuple[str, ...] = ()):
        reading = make_reading(drawing, what_stands([drawing]), area=area, taken=taken)
        return import_reading(reading, by=person("planner"), name=drawing.name)

    return bring_in


@pytest.fixture
def plant(bring_in):
    """The register holds drawing C01 and nothing else."""
    bring_in(read(PLANT))


def differences(data: bytes, *earlier: bytes) -> list[tuple[str, str, str, str, str]]:
    drawing, before = read(data), [read(one) for one in earlier]
    found = compare(drawing, before, what_stands([drawing, *before]))
    return [(one.kind.value, one.fact.value, one.subject, one.drawn, one.held) for one in found]


@pytest.mark.parametrize("data", [PLANT, LEVEL], ids=["C01", "I01"])
def test_every_loop_function_and_line_of_an_example_is_in_the_register(data, bring_in):
    Area.objects.create(code="W", name="Works", path="Works")
    bring_in(read(data), "W")
    held = {"loops": Loop.objects.count(), "functions": Tag.objects.count(), "lines": Link.objects.count()}
    assert held == drawings.counts(data)
    assert set(Loop.objects.values_list("area__code", "revision")) == {("W", 1)}


def test_what_the_drawing_says_stands_at_the_tags(plant):
    valve = Tag.objects.get(name="TV4750.03")
    assert (valve.loop.number, valve.role, valve.fail_position) == ("T-4750.03", "final element", "open")
    assert (valve.place, valve.description, valve.location) == ("globe valve on line 47141", "globe valve", "field")
    assert {(one.loop.number, one.loop.kind) for one in Tag.objects.filter(role="indicator")} == {
        ("P-4712.01", "indication")
    }
    link = Link.objects.get(target__tag=valve)
    assert (str(link.source), str(link.target)) == ("TICSA-4750.03 Output", "TV4750.03 Signal")
    assert {link.source.purpose, link.target.purpose} == {"control"}
    assert Area.objects.get().name == "Utilities"


@pytest.mark.parametrize("again", [PLANT, drawings.with_other_identifiers(PLANT)], ids=["same", "exported anew"])
def test_a_second_import_changes_nothing(plant, bring_in, again):
    revisions = Revision.objects.count()
    assert differences(again, PLANT) == []
    assert bring_in(read(again)).changed_nothing
    assert Revision.objects.count() == revisions


def test_a_new_drawing_is_added_whole():
    assert differences(LEVEL) == [
        ("added", "loop", "L-01", "drawn", ""),
        ("added", "tag", "LE-01", "sensor, blind flange", ""),
        ("added", "tag", "LI-01", "indicator", ""),
        ("added", "signal line", "LE-01 → LI-01", "drawn", ""),
    ]


def test_a_newer_revision_shows_what_was_added_and_what_is_gone(plant):
    """By hand: the pressure indication 4712.01 taken off, a level indication put on."""
    ids = ("ProcessInstrumentationFunction-1", "InstrumentationLoopFunction-1")
    newer = drawings.without(PLANT, *ids)
    about = drawings.generic(
        ProcessInstrumentationFunctionCategoryAssignmentClass="L",
        ProcessInstrumentationFunctionsAssignmentClass="I",
        ProcessInstrumentationFunctionNumberAssignmentClass="4750.09",
    )
    newer = drawings.added(
        newer, "", f'<ProcessInstrumentationFunction ID="P9">{about}</ProcessInstrumentationFunction>'
    )
    assert differences(drawings.with_other_identifiers(newer), PLANT) == [
        ("added", "loop", "L-4750.09", "drawn", ""),
        ("added", "tag", "LI-4750.09", "indicator", ""),
        ("gone", "loop", "P-4712.01", "", "in service"),
        ("gone", "tag", "PI-4712.01", "", "indicator"),
        ("gone", "tag", "PT4712.01", "", "transmitter"),
    ]


def test_what_was_never_on_the_drawing_is_not_gone(plant):
    Tag.objects.create(name="PI-4712.02", loop=Loop.objects.get(number="P-4712.02"), role="indicator")
    assert differences(PLANT, PLANT) == []


def test_gone_deletes_nothing_and_is_told_until_it_is_retired(plant, bring_in):
    newer = drawings.without(PLANT, "ProcessInstrumentationFunction-1", "InstrumentationLoopFunction-1")
    assert bring_in(read(newer)).changed_nothing
    assert Tag.objects.filter(name="PT4712.01", retired_on=None).exists()
    assert [one[2] for one in differences(newer, newer, PLANT)] == ["P-4712.01", "PI-4712.01", "PT4712.01"]
    Loop.objects.filter(number="P-4712.01").update(retired_on=date(2026, 3, 4))
    Tag.objects.filter(loop__number="P-4712.01").update(retired_on=date(2026, 3, 4))
    assert differences(newer, PLANT) == []


FAILS = ("ControlledActuator-1", "FailActionSpecialization", "FailOpen")


def test_a_contradiction_names_both_and_is_brought_in_only_where_it_is_taken(plant, bring_in):
    """By hand: PV4712.02 fails open in the newer revision."""
    newer = drawings.attribute(PLANT, *FAILS)
    (one,) = compare(read(newer), [read(PLANT)], what_stands([read(newer)]))
    assert (one.kind, one.subject, one.drawn, one.held) == (Kind.CONTRADICTED, "PV4712.02", "open", "closed")
    assert bring_in(read(newer)).changed_nothing
    bring_in(read(newer), taken=(one.key,))
    assert Tag.objects.get(name="PV4712.02").fail_position == "open"
    assert differences(newer, PLANT) == []


def test_a_place_in_a_persons_own_words_is_no_contradiction_but_one_from_an_older_drawing_is(plant, bring_in):
    """By hand: TT4750.03 measures at the flange where PT4712.01 does."""
    nozzle, flange = (f'<Association Type="is located in" ItemID="{one}"/>' for one in ("Nozzle-17", "BlindFlange-1"))
    newer = drawings.replaced(PLANT, nozzle, flange, 1)
    moved = ("contradicted", "place", "TT4750.03", "blind flange on line 47126", "nozzle N7 of tank T4750")
    assert differences(newer, PLANT) == [moved]
    bring_in(read(newer), taken=("place: TT4750.03",))
    assert Tag.objects.get(name="TT4750.03").place == "blind flange on line 47126"
    Tag.objects.filter(name="TT4750.03").update(place="North wall, 2 m up")
    assert differences(newer, PLANT) == []
    assert bring_in(read(newer)).changed_nothing


def test_facts_that_the_register_lacks_are_added_and_those_that_it_has_stay(plant, bring_in):
    Tag.objects.filter(name="PV4712.02").update(fail_position="", place="Pump bay 2", location="junction box")
    assert differences(PLANT, PLANT) == [("added", "on loss of signal or power", "PV4712.02", "closed", "")]
    bring_in(read(PLANT))
    valve = Tag.objects.get(name="PV4712.02")
    assert (valve.fail_position, valve.place, valve.location) == ("closed", "Pump bay 2", "junction box")


def test_tags_are_the_same_however_either_writes_them(plant, bring_in):
    Tag.objects.filter(name="PICSA-4712.02").update(name="picsa 4712.02")
    Loop.objects.filter(number="P-4712.02").update(number="P4712.02")
    assert differences(PLANT, PLANT) == []
    assert bring_in(read(PLANT)).changed_nothing


def test_a_member_of_another_loop_a_role_and_a_location_contradict(plant, bring_in):
    other = Loop.objects.get(number="P-4712.01")
    Tag.objects.filter(name="PV4712.02").update(loop=other, role="indicator", location="panel")
    Tag.objects.filter(name="PICSA-4712.02").update(location="rack")  # in the control room like a panel
    Loop.objects.filter(number="T-4750.03").update(retired_on=date(2026, 3, 4))
    drawing = read(PLANT)
    assert differences(PLANT) == [
        ("contradicted", "in service", "T-4750.03", "drawn", "retired on 2026-03-04"),
        ("contradicted", "member of", "PV4712.02", "P-4712.02", "P-4712.01"),
        ("contradicted", "role", "PV4712.02", "final element", "indicator"),
    ]
    assert bring_in(drawing).changed_nothing
    bring_in(drawing, taken=("in service: T-4750.03", "member of: PV4712.02", "role: PV4712.02"))
    assert differences(PLANT) == []


def test_a_signal_that_runs_by_way_of_what_the_drawing_leaves_out_is_no_difference(plant, bring_in):
    """The register has a barrier between transmitter and controller, which no P&ID draws."""
    loop = Loop.objects.get(number="P-4712.02")
    barrier = Tag.objects.create(name="PY-4712.02", loop=loop, role="signal conditioner")
    into = Port.objects.create(tag=barrier, name="Field", direction="in", purpose="measurement")
    out = Port.objects.create(tag=barrier, name="Safe", direction="out", purpose="measurement")
    link = Link.objects.get(source__tag__name="PT4712.02")
    source = link.source
    Link.objects.filter(pk=link.pk).update(source=out)
    Link.objects.create(source=source, target=into)
    assert differences(PLANT, PLANT) == []
    assert bring_in(read(PLANT)).changed_nothing


def test_an_input_that_the_register_feeds_from_elsewhere_contradicts(plant, bring_in):
    loop = Loop.objects.get(number="P-4712.02")
    other = Tag.objects.create(name="PT-99", loop=loop, role="transmitter")
    out = Port.objects.create(tag=other, name="Output", direction="out", purpose="measurement")
    Link.objects.filter(source__tag__name="PT4712.02").update(source=out)
    line = "PT4712.02 → PICSA-4712.02"
    assert differences(PLANT, PLANT) == [("contradicted", "signal line", line, "drawn", "PT-99 feeds the port Input")]
    assert bring_in(read(PLANT)).changed_nothing
    bring_in(read(PLANT), taken=(f"signal line: {line}",))
    assert Link.objects.get(target__tag__name="PICSA-4712.02").source.tag.name == "PT4712.02"


def test_a_second_line_into_a_tag_gets_an_input_of_its_own(plant, bring_in):
    line = (
        '<InformationFlow ID="F9"><Association Type="has logical start" ItemID="ProcessSignalGeneratingFunction-1"/>'
        '<Association Type="has logical end" ItemID="ProcessInstrumentationFunction-2"/></InformationFlow>'
    )
    newer = read(drawings.added(PLANT, "ProcessInstrumentationFunction-2", line))
    bring_in(newer)
    into = Link.objects.filter(target__tag__name="PICSA-4712.02").order_by("target__name")
    assert [(one.source.tag.name, one.target.name) for one in into] == [
        ("PT4712.02", "Input"),
        ("PT4712.01", "Input 2"),
    ]
    assert differences(PLANT, drawings.added(PLANT, "ProcessInstrumentationFunction-2", line)) == [
        ("gone", "signal line", "PT4712.01 → PICSA-4712.02", "", "linked")
    ]


def test_faults_of_a_drawing_and_loops_without_an_area_are_problems():
    number = "ProcessSignalGeneratingFunctionNumberAssignmentClass"
    twice = read(drawings.attribute(PLANT, "ProcessSignalGeneratingFunction-1", number, "PT4712.02"))
    for drawing, says in ((read(LEVEL), "Choose an area for its new loops."), (twice, "stands on the drawing twice")):
        (problem,) = make_reading(drawing, what_stands([drawing]), area="").problems
        assert says in problem.message


def test_the_register_is_read_in_a_fixed_number_of_queries(plant, django_assert_num_queries):
    with django_assert_num_queries(5):
        what_stands([read(PLANT)])
