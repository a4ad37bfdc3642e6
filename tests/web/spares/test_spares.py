from datetime import date
from decimal import Decimal
from io import BytesIO
from zipfile import ZipFile

import pytest
from django.urls import reverse
from python_calamine import CalamineWorkbook

from register.models import Area, CatalogueModel, Loop, PlantSettings
from register.plant import sketch
from tests import factories

LIST = reverse("spares:list")


@pytest.fixture
def plant(db):
    """Two boiler loops (one of them critical to safety) and one at the kiln; relay boards are two short."""
    factories.loop(sketch.temperature_loop("101"), area="Works / Boiler house")
    factories.loop(sketch.temperature_loop("102"), area="Works / Boiler house")
    factories.loop(sketch.temperature_loop("103"), area="Works / Kiln 1")
    Loop.objects.filter(number="T-102").update(criticality="safety")
    factories.stock_line(sketch.relay_board(), quantity=1, minimum=3)
    factories.stock_line(sketch.linear_board(), quantity=5, minimum=2)
    CatalogueModel.objects.filter(name="Relay board").update(
        order_code="=R-2", price=Decimal("38.50"), lead_time_days=10
    )


def figures(response) -> dict[str, tuple[int, int, int, int]]:
    rows = [row.record for row in response.context["table"].rows]
    return {row.name: (row.installed, row.in_store, row.minimum, row.short) for row in rows}


def test_what_is_short_stands_first(plant, signed_in):
    page = signed_in("planner").get(LIST)
    assert figures(page) == {
        "Relay board": (3, 1, 3, 2),
        "Linear board": (3, 5, 2, 0),
        "Regent 96": (3, 0, 0, 0),
        "Probe pt100": (3, 0, 0, 0),
        "Globe 40": (3, 0, 0, 0),
    }
    assert next(iter(figures(page))) == "Relay board"


def test_an_area_narrows_what_is_installed_and_not_the_store(plant, signed_in):
    area = Area.objects.get(name="Kiln 1").pk
    assert figures(signed_in("planner").get(f"{LIST}?area={area}"))["Relay board"] == (1, 1, 3, 2)


def test_an_area_counts_the_areas_below_it(plant, signed_in):
    area = Area.objects.get(name="Works").pk
    assert figures(signed_in("planner").get(f"{LIST}?area={area}"))["Relay board"] == (3, 1, 3, 2)


def test_a_criticality_narrows_what_is_installed(plant, signed_in):
    assert figures(signed_in("planner").get(f"{LIST}?criticality=safety"))["Relay board"] == (1, 1, 3, 2)


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("stock=short", ["Relay board"]),
        ("stock=none&kind=controller", ["Regent 96"]),
        ("kind=option+board", ["Relay board", "Linear board"]),
        ("q=globe", ["Globe 40"]),
        ("stock=obsolete", []),
        ("area=999999", ["Relay board", "Linear board", "Regent 96", "Probe pt100", "Globe 40"]),
    ],
)
def test_filters_narrow_the_list(plant, signed_in, query, expected):
    assert list(figures(signed_in("planner").get(f"{LIST}?{query}"))) == expected


@pytest.mark.parametrize("sort", ["name", "kind", "order_code", "installed", "in_store", "minimum", "short"])
def test_each_column_sorts_both_ways(plant, signed_in, sort):
    Loop.objects.filter(number="T-103").first().tags.get(name="TV-103").installations.update(to_date=date(2025, 1, 1))
    up = list(figures(signed_in("planner").get(f"{LIST}?sort={sort}")))
    down = list(figures(signed_in("planner").get(f"{LIST}?sort=-{sort}")))
    assert sorted(up) == sorted(down)
    assert up != down


def workbook_of(response) -> tuple[list[list], str]:
    """The rows of the sheet as a reader of XLSX sees them, and the sheet's XML."""
    content = b"".join(response.streaming_content)
    rows = CalamineWorkbook.from_filelike(BytesIO(content)).get_sheet_by_index(0).to_python()
    return rows, ZipFile(BytesIO(content)).read("xl/worksheets/sheet1.xml").decode()


def test_the_workbook_holds_the_list_with_numbers_as_numbers(plant, signed_in):
    response = signed_in("planner").get(f"{LIST}?stock=short&download=xlsx")
    rows, _ = workbook_of(response)
    assert rows[1][0] == "Narrowed by: Stock: below the minimum"
    assert rows[3][:8] == ["Model", "Kind", "Order code", "Installed", "In store", "Minimum", "Short", "Price"]
    assert rows[4][:9] == ["Fennel Row Relay board", "option board, relay", "=R-2", 3, 1, 3, 2, 38.5, 10]
    assert len(rows) == 5


def test_a_cell_that_begins_like_a_formula_stays_text(plant, signed_in):
    CatalogueModel.objects.filter(name="Linear board").update(order_code="@SUM(A1)")
    CatalogueModel.objects.filter(name="Regent 96").update(order_code="+1")
    CatalogueModel.objects.filter(name="Globe 40").update(order_code="-2+3")
    rows, xml = workbook_of(signed_in("planner").get(f"{LIST}?download=xlsx"))
    assert {row[2] for row in rows[3:]} == {"=R-2", "@SUM(A1)", "+1", "-2+3", ""}
    assert "<f>" not in xml


def test_the_printed_list_holds_every_model_chosen_on_one_document(plant, signed_in):
    PlantSettings.objects.create(name="Larkwater Maltings", currency="EUR")
    for number in range(60):
        factories.stock_line(sketch.valve_model(name=f"Globe {number + 100}"), quantity=0, minimum=1)
    response = signed_in("planner").get(f"{reverse('spares:pdf')}?stock=short")
    assert b"".join(response.streaming_content).startswith(b"%PDF-1.")
    assert response.headers["Content-Disposition"].startswith('inline; filename="spare-parts-')
    printed = response.context
    assert [str(model) for model, *_ in printed["spares"]][:2] == ["Fennel Row Relay board", "Tarn & Pell Globe 100"]
    assert (len(printed["spares"]), printed["short"], printed["currency"]) == (61, 61, "EUR")
    assert printed["chosen"] == "Stock: below the minimum"


def test_a_list_of_nothing_is_printed_too(db, signed_in):
    response = signed_in("planner").get(reverse("spares:pdf"))
    assert b"".join(response.streaming_content).startswith(b"%PDF-1.")


@pytest.mark.parametrize("address", ["list", "pdf"])
def test_queries_do_not_grow_with_the_plant(plant, signed_in, address, django_assert_max_num_queries):
    client = signed_in("planner")
    url = f"{reverse(f'spares:{address}')}?area={Area.objects.get(name='Works').pk}"
    with django_assert_max_num_queries(7) as before:
        b"".join(client.get(url))
    for number in range(110, 120):
        factories.loop(sketch.pressure_loop(str(number)))
    with django_assert_max_num_queries(7) as after:
        b"".join(client.get(url))
    assert len(after) == len(before)
