from decimal import Decimal

import pytest
from django.urls import reverse

from register.models import CatalogueModel
from register.plant import sketch
from tests import factories

LIST = reverse("catalogue:list")


@pytest.fixture
def plant(db):
    factories.loop(sketch.temperature_loop("101"))
    new = factories.catalogue_model(sketch.serial_board())
    CatalogueModel.objects.filter(name="Relay board").update(obsolete=True, successor=new)


def names(response) -> list[str]:
    return [row.record.name for row in response.context["table"].page.object_list]


def test_every_model_is_listed_with_how_many_there_are(plant, signed_in):
    factories.stock_line(sketch.relay_board(), quantity=4)
    page = signed_in("auditor").get(LIST)
    assert names(page) == [
        "Linear board",
        "Regent 96",
        "Relay board",
        "Serial board",
        "Probe pt100",
        "Globe 40",
    ], "by maker, then by name"
    relay = next(row.record for row in page.context["table"].rows if row.record.name == "Relay board")
    assert (relay.installed, relay.in_store) == (1, 4)
    assert "obsolete, successor Fennel Row Serial board" in page.content.decode()


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("q=regent", ["Regent 96"]),
        ("q=fennel+board", ["Linear board", "Relay board", "Serial board"]),
        ("maker=Quarrymoor", ["Probe pt100"]),
        ("kind=final+element", ["Globe 40"]),
        ("obsolete=True", ["Relay board"]),
        ("kind=option+board&obsolete=False", ["Linear board", "Serial board"]),
        ("installed=none", ["Serial board"]),
        ("in_store=some", []),
        ("kind=option+board&in_store=none&installed=some", ["Linear board", "Relay board"]),
    ],
)
def test_filters_narrow_the_list(plant, signed_in, query, expected):
    assert names(signed_in("auditor").get(f"{LIST}?{query}")) == expected


def test_a_board_family_narrows_the_list_to_its_boards(plant, signed_in):
    family = CatalogueModel.objects.get(name="Linear board").family_id
    assert names(signed_in("auditor").get(f"{LIST}?family={family}")) == ["Linear board"]


def test_totals_say_what_the_list_holds_and_what_the_stock_is_worth(plant, signed_in):
    factories.stock_line(sketch.relay_board(), quantity=4)
    factories.stock_line(sketch.serial_board(), quantity=1)
    CatalogueModel.objects.filter(name="Relay board").update(price="24.50")
    totals = signed_in("auditor").get(f"{LIST}?kind=option+board").context["totals"]
    assert totals == {"models": 3, "installed": 2, "in_store": 5, "worth": Decimal("98.00"), "unpriced": 1}


@pytest.mark.parametrize("sort", ["name", "maker", "kind", "family", "installed", "in_store", "obsolete"])
def test_each_column_sorts_both_ways(plant, signed_in, sort):
    factories.stock_line(sketch.relay_board(), quantity=4)
    up = names(signed_in("auditor").get(f"{LIST}?sort={sort}"))
    down = names(signed_in("auditor").get(f"{LIST}?sort=-{sort}"))
    assert sorted(up) == sorted(down)
    assert up != down


def test_queries_do_not_grow_with_the_models(plant, signed_in, django_assert_num_queries):
    client = signed_in("auditor")
    with django_assert_num_queries(9):
        client.get(LIST)
    for number in range(60):
        CatalogueModel.objects.create(maker="Tarn & Pell", name=f"Globe {number + 100}", kind="final element")
    with django_assert_num_queries(9):
        page = client.get(LIST)
    assert len(names(page)) == 50
