from __future__ import annotations

import threading
import uuid
from datetime import date, timedelta

import pytest
from django.db import connections
from django.utils import timezone
from msgspec.structs import replace

from register.models import Asset, BoardFitting, Installation, Revision, SettingsKind, SwapDraft, Tag
from register.plant import sketch
from register.plant.values import Bay
from register.plant.words import AssetState, Condition
from register.services import drafts
from register.services.permissions import NotAllowed
from register.services.recording import Refused, StaleLoop
from register.services.replacement import BoardMove, new_code, objections, replace_asset
from tests import factories

pytestmark = pytest.mark.django_db

DAY = date(2025, 2, 3)
ALL_IN_TWO = ("linear output", "relay")
FOLIO = sketch.controller_model(
    name="Folio 96", bays=(Bay(name="A", takes=("serial",)), Bay(name="B", takes=ALL_IN_TWO))
)


@pytest.fixture
def technician(person):
    return person("technician")


@pytest.fixture
def loop(technician):
    value = sketch.temperature_loop()
    controller = value.tag("TIC-101")
    boards = tuple(replace(board, serial=f"B{board.bay}") for board in controller.asset.boards)
    value = sketch.with_tag(value, "TIC-101", asset=replace(controller.asset, boards=boards))
    return factories.loop(value, by=technician)


@pytest.fixture
def tag(loop):
    return Tag.objects.select_related("loop").get(name="TIC-101")


@pytest.fixture
def spare(loop):
    return factories.asset("SPARE1", sketch.controller_model())


def swap(tag, incoming, by, **facts):
    tag.loop.refresh_from_db()
    usual = {
        "on": DAY,
        "seen_revision": tag.loop.revision,
        "reason": "Display dark",
        "condition": Condition.FAULTY,
        "serial_out": "SA1012",
    }
    return replace_asset(tag, incoming, by=by, **usual | facts)


def over(*bays: str) -> list[BoardMove]:
    return [BoardMove(bay=bay, from_bay=bay) for bay in bays]


def bays_of(asset: Asset) -> dict[str, str]:
    return {one.bay: one.board.serial if one.board else "" for one in asset.board_fittings.current()}


def test_a_swap_with_its_boards_moved_over_leaves_the_loop_right_and_makes_one_revision(tag, loop, spare, technician):
    out = tag.installations.current().get().asset
    carried = bays_of(out)

    revision = swap(tag, spare, technician, moved_boards=over(*carried), work_order="WO 7", store_place="Bench")

    assert (revision.number, revision.work_order, revision.by) == (2, "WO 7", technician)
    assert any("serial" in change and "SSPARE1" in change for change in revision.changes)
    assert tag.installations.current().get().asset == spare
    assert (bays_of(spare), bays_of(out)) == (carried, {})
    out.refresh_from_db()
    spare.refresh_from_db()
    assert (out.state, out.store_place, spare.state) == (AssetState.IN_WORKSHOP, "Bench", AssetState.IN_SERVICE)
    assert tag.installations.get(asset=out).reason_out == "Display dark"
    assert not loop.findings.open().exists()


def test_boards_that_are_not_moved_stay_in_what_came_out(tag, loop, spare, technician):
    swap(tag, spare, technician, condition=Condition.WORKING)
    board = Asset.objects.get(serial="B1")
    assert (board.state, board.fitted_in.current().get().controller.serial) == (AssetState.IN_STORE, "SA1012")
    assert "output-without-board" in [one.rule for one in loop.findings.open()]


def test_ports_follow_a_board_to_another_bay(tag, loop, technician):
    incoming = factories.asset("FOLIO1", FOLIO)
    swap(tag, incoming, technician, moved_boards=[BoardMove(bay="B", from_bay="1")])
    assert tag.ports.filter(bay="B").exists()
    assert not tag.ports.filter(bay="1").exists()
    outputs = [one.place for one in loop.findings.open() if one.rule == "output-without-board"]
    assert tag.ports.get(bay="B").name not in outputs


def test_a_new_instrument_from_a_stock_line_takes_one_from_it_and_gets_a_code(tag, technician):
    line = factories.stock_line(sketch.controller_model(), 2)
    incoming = Asset(model=line.model, serial="NEW 77")
    swap(tag, incoming, technician, line=line, moved_boards=over("1"))
    line.refresh_from_db()
    assert line.quantity == 1
    assert Asset.objects.get(serial="NEW 77").code == "NEW-77"


def test_a_loose_board_from_a_stock_line_takes_one_from_it(tag, spare, technician):
    line = factories.stock_line(sketch.linear_board(), 1)
    swap(tag, spare, technician, moved_boards=[BoardMove(bay="1", line=line)])
    line.refresh_from_db()
    assert line.quantity == 0
    assert BoardFitting.objects.current().get(controller=spare, bay="1").board is None


def test_two_bays_cannot_be_filled_with_the_last_board_of_a_line(tag, spare, technician):
    line = factories.stock_line(sketch.linear_board(), 1)
    moves = [BoardMove(bay="1", line=line), BoardMove(bay="2", line=line)]
    with pytest.raises(Refused, match="more bays than there are such boards"):
        swap(tag, spare, technician, moved_boards=moves)
    line.refresh_from_db()
    assert line.quantity == 1


def test_settings_as_left_are_those_of_the_new_instrument(tag, spare, technician):
    factories.models.Settings.objects.create(tag=tag, kind=SettingsKind.AS_LEFT, decimals=3)
    swap(tag, spare, technician)
    assert not tag.settings_rows.filter(kind=SettingsKind.AS_LEFT).exists()

    other = factories.asset("SPARE2", sketch.controller_model())
    swap(tag, other, technician, serial_out="SSPARE1", as_left={"decimals": 2})
    assert tag.settings_rows.get(kind=SettingsKind.AS_LEFT).decimals == 2


def test_a_swap_that_is_wrong_in_every_way_says_each_at_its_field(tag, technician):
    factories.loop(sketch.temperature_loop("105"), by=technician)
    elsewhere = Tag.objects.get(name="TIC-105").installations.get().asset
    said = objections(
        tag,
        elsewhere,
        on=timezone.localdate() + timedelta(days=1),
        serial_out="X1",
        moved_boards=[BoardMove(bay="9", from_bay="1")],
    )
    assert [(one.field, str(one)) for one in said] == [
        (
            "serial_out",
            "The register has serial SA1012 at TIC-101, not X1. Read the serial number again and check that you stand "
            "at TIC-101; if it is right, the register is wrong: tell the planner.",
        ),
        (
            "on",
            f"{timezone.localdate() + timedelta(days=1)} is in the future. Give the day on which the work was done.",
        ),
        (
            "incoming",
            "SA1052 is installed at TIC-105. Read the serial number again; if it is right, take it out at TIC-105 "
            "first.",
        ),
        ("bay-9", "Fennel Row Regent 96 has no bay 9. It has: 1, 2, 3."),
    ]


@pytest.mark.parametrize(
    ("model", "says"),
    [
        (sketch.sensor_model(), "is of kind sensor; TIC-101 needs a controller"),
        (sketch.relay_board(), "kind option board"),
    ],
)
def test_an_instrument_of_another_kind_is_refused(tag, technician, model, says):
    with pytest.raises(Refused, match=says):
        swap(tag, factories.asset("OTHER1", model), technician)


def test_a_board_that_its_bay_does_not_take_is_refused(tag, technician):
    incoming = factories.asset("FOLIO1", FOLIO)
    with pytest.raises(
        Refused, match=r"Bay A of Fennel Row Folio 96 takes serial; .* is a linear output board"
    ) as caught:
        swap(tag, incoming, technician, moved_boards=[BoardMove(bay="A", from_bay="1")])
    assert caught.value.field == "bay-A"
    assert tag.installations.current().get().asset.serial == "SA1012"


def test_a_day_before_what_is_there_went_in_is_refused(tag, spare, technician):
    with pytest.raises(Refused, match="SA1012 went in on 2024-03-04, after 2024-03-03"):
        swap(tag, spare, technician, on=date(2024, 3, 3))


def test_a_day_before_the_incoming_came_out_elsewhere_is_refused(tag, spare, technician):
    other = factories.models.Tag.objects.create(loop=tag.loop, name="TIC-101B", role="controller")
    Installation.objects.create(asset=spare, tag=other, from_date=date(2024, 4, 1), to_date=date(2025, 3, 1))
    with pytest.raises(Refused, match="SSPARE1 came out of TIC-101B on 2025-03-01, after 2025-02-03"):
        swap(tag, spare, technician)


def test_an_auditor_records_no_swap_and_a_stale_one_is_shown_what_was_missed(tag, spare, person, technician):
    with pytest.raises(NotAllowed):
        swap(tag, spare, person("auditor"))
    swap(tag, spare, technician, moved_boards=over("1"))
    again = factories.asset("SPARE2", sketch.controller_model())
    with pytest.raises(StaleLoop) as caught:
        swap(tag, again, technician, seen_revision=1, serial_out="SSPARE1")
    assert [one.number for one in caught.value.missed] == [2]


def test_a_swap_that_is_sent_twice_is_recorded_once(tag, spare, technician):
    draft = drafts.keep_step(tag, "out", {}, by=technician)

    def write(_) -> Revision:
        return swap(tag, spare, technician, moved_boards=over("1"))

    first = drafts.record_once(draft.token, write, by=technician)
    second = drafts.record_once(draft.token, write, by=technician)
    assert first == second
    assert tag.loop.revisions.count() == 2


def test_a_draft_is_a_persons_own_and_one_for_a_tag(tag, person, technician):
    drafts.keep_step(tag, "out", {"reason": "Display dark"}, by=technician)
    assert drafts.swap_draft(tag, by=technician).typed == {"out": {"reason": "Display dark"}}
    assert drafts.swap_draft(tag, by=person("planner")).typed == {}
    for ask in (drafts.swap_draft, lambda tag, by: drafts.keep_step(tag, "out", {}, by=by)):
        with pytest.raises(NotAllowed):
            ask(tag, by=person("auditor"))


def test_a_swap_that_nobody_typed_anything_of_is_not_kept(tag, technician):
    drafts.swap_draft(tag, by=technician)
    assert not SwapDraft.objects.exists()


def test_a_draft_that_was_given_up_records_nothing(tag, technician):
    token = drafts.keep_step(tag, "out", {}, by=technician).token
    drafts.discard(tag, by=technician)
    with pytest.raises(Refused, match="given up"):
        drafts.record_once(token, lambda _: pytest.fail("written"), by=technician)
    with pytest.raises(Refused):
        drafts.record_once(uuid.uuid4(), lambda _: pytest.fail("written"), by=technician)
    assert not SwapDraft.objects.exists()


def test_a_code_is_made_of_the_serial_number_and_taken_by_nobody_else(db):
    assert new_code("A/7 9") == "A-7-9"
    factories.asset("A-7-9", sketch.valve_model())
    assert new_code("A/7 9") == "A-7-9-2"


@pytest.mark.django_db(transaction=True)
def test_two_people_who_put_the_same_spare_at_two_tags_at_once_do_not_both_get_it(tag, spare, technician):
    factories.loop(sketch.temperature_loop("105"), by=technician)
    both_ready = threading.Barrier(2)
    outcomes = []

    def put_in(name: str, serial_out: str) -> None:
        place, item = Tag.objects.select_related("loop").get(name=name), Asset.objects.get(pk=spare.pk)
        both_ready.wait()
        try:
            swap(place, item, technician, serial_out=serial_out)
            outcomes.append("recorded")
        except Refused as refusal:
            outcomes.append(str(refusal).split(" at ")[0])
        finally:
            connections.close_all()

    hands = [threading.Thread(target=put_in, args=at) for at in (("TIC-101", "SA1012"), ("TIC-105", "SA1052"))]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    assert sorted(outcomes) == ["SSPARE1 is installed", "recorded"]
