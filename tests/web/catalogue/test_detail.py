from decimal import Decimal

import pytest
from django.urls import reverse

from register.models import CatalogueModel, PlantSettings
from register.plant import sketch
from tests import factories


@pytest.fixture
def plant(db):
    factories.loop(sketch.pressure_loop("201"))
    PlantSettings.objects.create(name="Larkwater Maltings", currency="EUR")


def page_of(client, name: str):
    return client.get(reverse("catalogue:detail", args=[CatalogueModel.objects.get(name=name).pk]))


def facts_of(page) -> dict[str, str]:
    return {name: fact for _, facts in page.context["groups"] for name, fact in facts}


def test_a_controller_shows_its_data_sheet_with_units(plant, signed_in):
    facts = facts_of(page_of(signed_in("auditor"), "Regent 96"))
    assert facts["Front width (mm)"] == "96"
    assert facts["Depth behind the panel (mm)"] == "110"
    assert facts["Supply from (V)"] == "100"
    assert facts["Controls heating and cooling"] == "yes"
    assert facts["PID form"] == "ideal"
    assert "Wires" not in facts, "what is not recorded is left out"


def test_limits_span_and_accuracy_carry_their_unit(plant, signed_in):
    CatalogueModel.objects.filter(name="Press 25").update(
        accuracy_basis="% of span", price=Decimal("412.50"), lead_time_days=21
    )
    facts = facts_of(page_of(signed_in("auditor"), "Press 25"))
    assert facts["Range limits"] == "0–25 bar (gauge)"
    assert facts["Least span"] == "0.5 bar"
    assert facts["Accuracy"] == "± 0.1 % of span"
    assert facts["Price"] == "412.50 EUR"
    assert facts["Lead time"] == "21 days"


def test_ports_bays_and_what_each_takes_are_shown(plant, signed_in):
    page = page_of(signed_in("auditor"), "Regent 96").content.decode()
    for text in (
        "Input",
        "measurement",
        "Pt100",
        "4–20 mA",
        "Input resistance (Ω): 5",
        "relay, solid-state-relay driver",
    ):
        assert text in page


def test_it_says_where_the_model_is_specified_and_where_it_is_installed(plant, signed_in):
    page = page_of(signed_in("auditor"), "Press 25")
    uses = [(tag.name, tag.is_specified, tag.is_installed) for tag in page.context["uses"].page.object_list.data]
    assert uses == [("PT-201", True, True)]
    assert "specified and installed" in page.content.decode()


def test_a_board_is_used_at_the_tag_whose_controller_holds_it(plant, signed_in):
    page = page_of(signed_in("auditor"), "Supply board")
    uses = [(tag.name, tag.is_specified, tag.is_installed) for tag in page.context["uses"].page.object_list.data]
    assert uses == [("PIC-201", False, True)]


def test_an_obsolete_model_leads_to_its_successor_and_back(plant, signed_in):
    new = factories.catalogue_model(sketch.serial_board())
    CatalogueModel.objects.filter(name="Relay board").update(obsolete=True, successor=new)
    old = page_of(signed_in("auditor"), "Relay board").content.decode()
    assert "Obsolete" in old
    assert reverse("catalogue:detail", args=[new.pk]) in old
    assert "Takes the place of" in page_of(signed_in("auditor"), "Serial board").content.decode()


def test_queries_do_not_grow_with_the_uses(plant, signed_in, django_assert_num_queries):
    client = signed_in("auditor")
    with django_assert_num_queries(15):
        page_of(client, "Press 25")
    for number in range(202, 210):
        factories.loop(sketch.pressure_loop(str(number)))
    with django_assert_num_queries(15):
        page_of(client, "Press 25")
