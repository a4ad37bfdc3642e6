import pytest
from django.urls import reverse

from register.models import Asset
from register.plant import sketch
from register.plant.words import AssetState
from tests import factories

LIST = reverse("assets:list")


@pytest.fixture
def plant(db):
    factories.loop(sketch.temperature_loop("101"))
    factories.asset("A900", sketch.controller_model(), serial="55-100")
    factories.asset("A901", sketch.transmitter_model(), serial="55-200", state=AssetState.IN_WORKSHOP)
    factories.fit(
        sketch.FittedBoard(bay="3", model=sketch.serial_board(), serial="774"), Asset.objects.get(code="A1012")
    )


def codes(response) -> list[str]:
    return [row.record.code for row in response.context["table"].page.object_list]


def test_every_asset_is_listed_with_where_it_is(plant, signed_in):
    page = signed_in("technician").get(LIST)
    assert codes(page) == ["A1011", "A1012", "A1013", "A900", "A901", "B774"]
    for text in ("TIC-101", "bay 3 of A1012", "Main store A1", "in workshop"):
        assert text in page.content.decode()


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("q=55-2", ["A901"]),
        ("q=fennel+regent", ["A1012", "A900"]),
        ("state=in+store", ["A900"]),
        ("kind=option+board", ["B774"]),
        ("state=in+service&kind=sensor", ["A1011"]),
        ("q=nothing-of-the-kind", []),
        ("tag=tic", ["A1012", "B774"]),
        ("place=store+a", ["A900"]),
        ("place=a1012", ["B774"]),
    ],
)
def test_filters_narrow_the_list(plant, signed_in, query, expected):
    assert codes(signed_in("auditor").get(f"{LIST}?{query}")) == expected


def test_the_area_and_the_model_narrow_the_list(plant, signed_in):
    factories.loop(sketch.pressure_loop("201"), area="Works / Kiln 1")
    area = factories.area("Works / Kiln 1")
    assert codes(signed_in("auditor").get(f"{LIST}?area={area.pk}"))[0] == "A2011"
    model = Asset.objects.get(code="A900").model_id
    assert codes(signed_in("auditor").get(f"{LIST}?model={model}&state=in+store")) == ["A900"]


def test_totals_count_the_assets_of_the_list_by_state(plant, signed_in):
    assert signed_in("auditor").get(LIST).context["states"] == {"in service": 4, "in store": 1, "in workshop": 1}
    assert signed_in("auditor").get(f"{LIST}?q=55").context["states"] == {"in store": 1, "in workshop": 1}


def test_an_empty_list_says_what_to_do(plant, signed_in):
    assert "Take a filter away" in signed_in("auditor").get(f"{LIST}?q=zzz").content.decode()


@pytest.mark.parametrize("sort", ["code", "serial", "model", "kind", "state", "tag", "place"])
def test_each_column_sorts_both_ways(plant, signed_in, sort):
    up = codes(signed_in("auditor").get(f"{LIST}?sort={sort}"))
    down = codes(signed_in("auditor").get(f"{LIST}?sort=-{sort}"))
    assert sorted(up) == sorted(down)
    assert up != down


def test_queries_do_not_grow_with_the_assets(plant, signed_in, django_assert_num_queries):
    client = signed_in("auditor")
    with django_assert_num_queries(8):
        client.get(LIST)
    for number in range(60):
        factories.asset(f"C{number}", sketch.valve_model())
    with django_assert_num_queries(8):
        page = client.get(LIST)
    assert len(codes(page)) == 50, "a page holds fifty"
