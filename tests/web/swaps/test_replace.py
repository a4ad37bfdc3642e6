from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone
from msgspec.structs import replace

from register.models import Asset, SettingsKind, StockLine, SwapDraft, Tag
from register.plant import sketch
from register.plant.values import Bay
from register.plant.words import ProportionalAs, TimeUnit
from register.services.editing import edit_tag
from tests import factories

pytestmark = pytest.mark.django_db

AT = "/tags/TIC-101/replace/"
BOARDS = ("linear output", "relay", "transmitter supply")
FOLIO = sketch.controller_model(
    name="Folio 96",
    proportional_as=ProportionalAs.GAIN,
    time_unit=TimeUnit.REPEATS_PER_MINUTE,
    bays=(Bay(name="A", takes=BOARDS), Bay(name="B", takes=BOARDS)),
)


@pytest.fixture
def tag(person):
    value = sketch.temperature_loop()
    settings = replace(
        value.tag("TIC-101").settings,
        proportional=sketch.number(40),
        integral=sketch.number(120),
        derivative=sketch.number(0),
    )
    factories.loop(sketch.with_tag(value, "TIC-101", settings=settings), by=person("planner"))
    return Tag.objects.select_related("loop").get(name="TIC-101")


@pytest.fixture
def spare(tag):
    return factories.asset("SPARE1", sketch.controller_model())


@pytest.fixture
def folio(tag):
    return factories.asset("FOLIO1", FOLIO)


@pytest.fixture
def client(signed_in):
    return signed_in("technician")


def out(**said) -> dict:
    return {
        "serial_out": "SA1012",
        "condition": "faulty",
        "reason": "Display dark",
        "on": timezone.localdate().isoformat(),
    } | said


def walk(client, incoming: str, **said) -> None:
    """Send every step as it is offered, up to the review."""
    client.post(AT + "out/", out())
    page = client.post(AT + "in/", {"incoming": incoming} | said)
    while (step := page.headers["Location"].removeprefix(AT)) != "review/":
        form = client.get(AT + step).context["form"]
        page = client.post(AT + step, {field.html_name: initial(field) for field in form})


def initial(field) -> str:
    value = field.value()
    return "" if value in (None, False) else str(value)


def recorded(client):
    token = client.get(AT + "review/").context["swap"].draft.token
    return client.post(AT + "review/", {"token": token})


def test_steps_follow_each_other_and_the_swap_is_recorded(client, tag, spare):
    walk(client, f"asset-{spare.pk}")
    review = client.get(AT + "review/")
    assert review.context["preview"].appear == []
    assert "No finding appears and none clears." in review.content.decode()

    page = recorded(client)

    assert page.status_code == 302
    assert tag.installations.current().get().asset == spare
    assert sorted(one.bay for one in spare.board_fittings.current()) == ["1", "2"]
    assert tag.settings_rows.get(kind=SettingsKind.AS_LEFT).proportional == 40
    assert not tag.loop.findings.open().exists()


def test_tuning_is_offered_in_the_form_and_units_of_the_new_model(client, tag, folio):
    """PB 40 % is a gain of 2.5, Ti 120 s is 0.5 repeats a minute (ISA-51.1: 100/PB and 60/Ti)."""
    client.post(AT + "out/", out())
    client.post(AT + "in/", {"incoming": f"asset-{folio.pk}"})
    page = client.get(AT + "settings/")
    keyed = {one.name: (one.required, one.taken) for one in page.context["swap"].keyed}
    assert keyed["Proportional band"] == ("40 %", "")
    assert keyed["Gain"] == ("", "2.5")
    assert keyed["Integral"] == ("120 s", "0.5 repeats/min")
    assert str(page.context["form"]["integral"].value()) == "0.5"


def test_what_would_appear_is_told_before_it_is_saved(client, tag, folio):
    walk(client, f"asset-{folio.pk}")
    rules = [one.rule for one in client.get(AT + "review/").context["preview"].appear]
    assert "another-model-installed" in rules
    assert tag.installations.current().get().asset.serial == "SA1012"


def test_a_swap_sent_twice_is_recorded_once(client, tag, spare):
    walk(client, f"asset-{spare.pk}")
    token = client.get(AT + "review/").context["swap"].draft.token
    pages = [client.post(AT + "review/", {"token": token}) for _ in range(2)]
    assert [page.status_code for page in pages] == [302, 302]
    assert tag.installations.count() == 2
    assert tag.loop.revisions.count() == 2


def test_what_was_typed_is_there_in_the_next_session(client, signed_in, tag):
    client.post(AT + "out/", out(reason="Half wr"), headers={"HX-Request": "true"})
    page = signed_in("technician").get(AT).content.decode()
    assert 'value="Half wr"' in page


def test_five_wrong_things_give_five_warnings_before_anything_is_saved(client, tag, folio, person):
    factories.loop(sketch.temperature_loop("105"), by=person("planner"))
    client.post(AT + "in/", {"incoming": f"asset-{folio.pk}"})
    tomorrow = timezone.localdate() + timedelta(days=1)
    wrong = client.post(AT + "out/", out(serial_out="SX", on=tomorrow.isoformat()))
    said = [error for errors in wrong.context["form"].errors.values() for error in errors]
    boards = client.post(AT + "boards/", {"bay-A": "move-1", "bay-B": "move-1"})
    said += [error for errors in boards.context["form"].errors.values() for error in errors][:1]
    settings = client.get(AT + "settings/").context["form"]
    facts = {field.html_name: initial(field) for field in settings} | {"range_low": "500", "range_high": "20"}
    wrong = client.post(AT + "settings/", facts)
    said += [error for errors in wrong.context["form"].errors.values() for error in errors]
    wrong = client.post(AT + "in/", {"incoming": "other", "serial": "SA1052"})
    said += [error for errors in wrong.context["form"].errors.values() for error in errors]

    assert [text.split(".")[0] for text in said] == [
        "The register has serial SA1012 at TIC-101, not SX",
        f"{tomorrow} is in the future",
        "Fennel Row Linear board is put in more bays than there are such boards",
        "The low end of a range must be below its high end, and neither may be left out",
        "SA1052 is installed at TIC-105",
    ]
    assert tag.loop.revisions.count() == 1


def test_a_board_that_does_not_fit_is_said_at_its_bay(client, tag, person):
    model = sketch.controller_model(
        name="Octavo", bays=(Bay(name="1", takes=("serial",)), Bay(name="2", takes=("relay",)))
    )
    incoming = factories.asset("OCT1", model)
    client.post(AT + "out/", out())
    client.post(AT + "in/", {"incoming": f"asset-{incoming.pk}"})
    page = client.post(AT + "boards/", {"bay-1": "move-1", "bay-2": ""})
    assert page.status_code == 200
    assert "takes serial" in page.context["form"].errors["bay-1"][0]


def test_a_scanned_identification_link_names_the_asset(client, tag, spare):
    client.post(AT + "out/", out())
    page = client.post(AT + "in/", {"incoming": "other", "serial": "https://register.example/a/SPARE1"})
    assert page.status_code == 302
    assert SwapDraft.objects.get().typed["in"]["serial"].endswith("SPARE1")


def test_an_unknown_serial_number_asks_for_the_model_and_makes_a_new_asset(client, tag):
    client.post(AT + "out/", out())
    page = client.post(AT + "in/", {"incoming": "other", "serial": "N900"})
    assert "No asset bears N900" in page.context["form"].errors["model"][0]
    model = factories.catalogue_model(sketch.controller_model())
    walk(client, "other", serial="N900", model=str(model.pk))
    recorded(client)
    assert Asset.objects.get(serial="N900").installations.current().get().tag == tag


def test_a_loose_item_leaves_its_stock_line(client, tag):
    line = factories.stock_line(sketch.controller_model(), 3)
    walk(client, f"line-{line.pk}", serial="N901")
    recorded(client)
    assert StockLine.objects.get(pk=line.pk).quantity == 2


def test_a_change_by_somebody_else_is_shown_and_the_swap_is_kept(client, tag, spare, person):
    walk(client, f"asset-{spare.pk}")
    token = client.get(AT + "review/").context["swap"].draft.token

    edit_tag(tag, {"place": "Panel P9"}, by=person("planner"), seen_revision=1, reason="Panel renumbered")

    page = client.post(AT + "review/", {"token": token})
    assert page.status_code == 200
    assert "Panel renumbered" in page.content.decode()
    assert client.post(AT + "review/", {"token": token}).status_code == 302
    assert tag.installations.current().get().asset == spare


def test_the_cautions_stand_above_the_first_step(client, tag):
    Tag.objects.filter(pk=tag.pk).update(zone="2")
    assert client.get(AT).content.decode().count("Hazardous area.") == 1


def test_a_swap_that_is_given_up_is_gone(client, tag):
    client.post(AT + "out/", out())
    client.post(AT + "give-up/")
    assert not SwapDraft.objects.exists()


def test_a_valve_is_swapped_without_boards_or_settings(client, tag):
    valve = factories.asset("VALVE1", sketch.valve_model())
    at = "/tags/TV-101/replace/"
    client.post(at + "out/", out(serial_out="SA1013"))
    page = client.post(at + "in/", {"incoming": f"asset-{valve.pk}"})
    assert page.headers["Location"] == at + "review/"


def test_the_review_waits_for_the_steps_before_it(client, tag):
    assert client.get(AT + "review/").headers["Location"] == AT + "out/"
    assert client.get(AT + "boards/").headers["Location"] == AT + "in/"
    assert client.get(AT + "nonsense/").status_code == 404


def test_a_wrong_serial_number_is_said_beside_what_was_left_out(client, tag):
    page = client.post(AT + "out/", {"serial_out": "SX"})
    errors = page.context["form"].errors
    assert set(errors) == {"serial_out", "condition", "reason", "on"}
    assert "not SX" in errors["serial_out"][0]
