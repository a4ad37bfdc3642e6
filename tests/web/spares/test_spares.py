from datetime import date, timedelta
from decimal import Decimal
from io import BytesIO
from zipfile import ZipFile

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from python_calamine import CalamineWorkbook

from register.models import (
    Area,
    CatalogueModel,
    Installation,
    Loop,
    PlannedMovement,
    PlantSettings,
    StockMovement,
)
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


def figures(response) -> dict[str, tuple]:
    rows = [row.record for row in response.context["table"].rows]
    return {row.model.name: (row.installed, row.in_store, row.needed, row.short) for row in rows}


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


def test_a_model_that_is_neither_used_nor_stocked_needs_no_spare(plant, signed_in):
    factories.catalogue_model(sketch.serial_board())
    assert "Serial board" not in figures(signed_in("planner").get(LIST))
    factories.stock_line(sketch.serial_board(), quantity=0, minimum=1)
    assert figures(signed_in("planner").get(LIST))["Serial board"] == (0, 0, 1, 1)


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
        ("stock=surplus", []),
        ("stock=none&kind=controller", ["Regent 96"]),
        ("kind=option+board", ["Relay board", "Linear board"]),
        ("q=globe", ["Globe 40"]),
        ("stock=obsolete", []),
        ("stock=overdue", ["Linear board"]),
        ("stock=unknown&kind=sensor", ["Probe pt100"]),
        ("area=999999", ["Relay board", "Linear board", "Regent 96", "Probe pt100", "Globe 40"]),
    ],
)
def test_filters_narrow_the_list(plant, signed_in, query, expected):
    PlannedMovement.objects.create(
        model=CatalogueModel.objects.get(name="Linear board"),
        kind="on order",
        reference="P-1",
        quantity=1,
        made_on=date(2025, 1, 1),
        expected_on=date(2025, 2, 1),
    )
    assert list(figures(signed_in("planner").get(f"{LIST}?{query}"))) == expected


@pytest.mark.parametrize(
    "sort", ["name", "kind", "installed", "in_store", "needed", "short", "risk_percent", "price", "lead_time_days"]
)
def test_each_column_sorts_both_ways(plant, signed_in, sort):
    rated(plant)
    Loop.objects.filter(number="T-103").first().tags.get(name="TV-103").installations.update(to_date=date(2025, 1, 1))
    up = list(figures(signed_in("planner").get(f"{LIST}?sort={sort}")))
    down = list(figures(signed_in("planner").get(f"{LIST}?sort=-{sort}")))
    assert sorted(up) == sorted(down)
    assert up != down


def rated(plant) -> None:
    """Every model has what is needed to work its stock out."""
    CatalogueModel.objects.update(failure_rate_per_year=Decimal("0.02"))
    for place, model in enumerate(CatalogueModel.objects.all()):
        CatalogueModel.objects.filter(pk=model.pk).update(price=Decimal(50 + place), lead_time_days=14 + place)


def workbook_of(response) -> tuple[list[list], str]:
    """The rows of the sheet as a reader of XLSX sees them, and the sheet's XML."""
    content = b"".join(response.streaming_content)
    rows = CalamineWorkbook.from_filelike(BytesIO(content)).get_sheet_by_index(0).to_python()
    return rows, ZipFile(BytesIO(content)).read("xl/worksheets/sheet1.xml").decode()


def test_the_workbook_holds_the_list_with_numbers_as_numbers(plant, signed_in):
    rows, _ = workbook_of(signed_in("planner").get(f"{LIST}?stock=short&download=xlsx"))
    assert [row[0] for row in rows[:2]] == [f"Taken on: {timezone.localdate()}", "Narrowed by: Stock: short"]
    known = dict(zip(rows[3], rows[4], strict=True))
    assert (known["Model"], known["Order code"]) == ("Fennel Row Relay board", "=R-2")
    figures = [known[one] for one in ("Installed", "In store", "Minimum", "Needed", "Short", "Price", "To order")]
    assert figures == [3, 1, 3, 3, 2, 38.5, 77]
    assert len(rows) == 5


def test_the_order_proposal_is_grouped_by_what_was_asked_for(plant, signed_in):
    factories.stock_line(sketch.valve_model(), quantity=0, minimum=1)
    CatalogueModel.objects.filter(name="Globe 40").update(lead_time_days=84, price=Decimal(980))
    by_lead, _ = workbook_of(signed_in("planner").get(f"{reverse('spares:orders_xlsx')}?by=lead"))
    assert [(row[0], row[2], row[4], row[6]) for row in by_lead[4:]] == [
        ("10 days", "Relay board", 2, 77),
        ("84 days", "Globe 40", 1, 980),
    ]
    by_maker, _ = workbook_of(signed_in("planner").get(f"{reverse('spares:orders_xlsx')}?by=maker"))
    assert [row[0] for row in by_maker[4:]] == ["Fennel Row", "Tarn & Pell"]
    by_area, _ = workbook_of(signed_in("planner").get(f"{reverse('spares:orders_xlsx')}?by=area"))
    assert {row[0] for row in by_area[4:]} == {"Works / Boiler house"}


def test_the_printed_order_sums_each_group_and_all(plant, signed_in):
    factories.stock_line(sketch.valve_model(), quantity=0, minimum=1)
    response = signed_in("planner").get(f"{reverse('spares:orders_pdf')}?by=maker")
    assert b"".join(response.streaming_content).startswith(b"%PDF-1.")
    printed = response.context
    assert [(group, total) for group, _rows, total in printed["groups"]] == [
        ("Fennel Row", (77, 0)),
        ("Tarn & Pell", (0, 1)),
    ]
    assert printed["total"] == (77, 1)


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
    ((group, rows),) = printed["groups"]
    assert [row.name for row in rows][:2] == ["Fennel Row Relay board", "Tarn & Pell Globe 100"]
    assert (group, len(rows), printed["currency"], printed["chosen"]) == ("", 61, "EUR", "Stock: short")


def test_a_list_of_nothing_is_printed_too(db, signed_in):
    response = signed_in("planner").get(reverse("spares:pdf"))
    assert b"".join(response.streaming_content).startswith(b"%PDF-1.")


def test_queries_do_not_grow_with_the_plant(plant, signed_in):
    rated(plant)
    client, area = signed_in("planner"), Area.objects.get(name="Works").pk
    detail = reverse("spares:detail", args=[CatalogueModel.objects.get(name="Relay board").pk])
    names = ("list", "orders_xlsx", "budget", "one_failure", "kit")
    urls = [detail, *(f"{reverse(f'spares:{name}')}?area={area}&days=365" for name in names)]

    def queries() -> dict[str, int]:
        asked = {}
        for url in urls:
            with CaptureQueriesContext(connection) as captured:
                b"".join(client.get(url))
            asked[url] = len(captured)
        return asked

    queries()
    before = queries()
    for number in range(110, 115):
        factories.loop(sketch.temperature_loop(str(number)))
    assert queries() == before
    assert max(before.values()) <= 60


# How it was worked out


def opened(signed_in, name: str, role: str = "planner") -> str:
    page = signed_in(role).get(reverse("spares:detail", args=[CatalogueModel.objects.get(name=name).pk]))
    return page.content.decode()


def test_each_figure_of_the_list_opens_to_how_it_was_worked_out(plant, signed_in):
    rated(plant)
    board = CatalogueModel.objects.get(name="Relay board")
    board.fittings.filter(controller__code="A1012").update(to_date=date(2025, 1, 1), condition_out="faulty")
    listed = signed_in("planner").get(LIST).content.decode()
    page = opened(signed_in, "Relay board")
    for anchor in ("installed", "rate", "stock", "need", "position", "risk"):
        assert f'href="/spares/{board.pk}/#{anchor}"' in listed
        assert f'id="{anchor}"' in page


def test_the_working_shows_formula_numbers_result_and_source(plant, signed_in):
    CatalogueModel.objects.filter(name="Regent 96").update(
        failure_rate_per_year=Decimal("0.5"), failure_rate_weight_years=4, lead_time_days=73
    )
    Installation.objects.update(from_date=timezone.localdate() - timedelta(days=365))
    page = opened(signed_in, "Regent 96")
    assert "λ = (λ₀·T₀ + n) / (T₀ + T)" in page
    assert "λ = (0.5 · 4 + 0) / (4 + 3.0) = 0.286" in page
    assert "Fennel Row Regent 96: μ = 3 · 0.286 · 73 / 365 = 0.171" in page
    assert "Gelman et al., Bayesian Data Analysis, 2.6" in page
    assert "P(D &gt; 0) = 15.75 %" in page  # 1 − exp(−0.1714)


def test_what_cannot_be_told_is_said_and_not_guessed(plant, signed_in):
    page = opened(signed_in, "Regent 96")
    assert "Cannot tell without its failure rate and its lead time" in page
    assert 'id="risk"' not in page


def test_a_model_that_is_not_there_is_not_found(plant, signed_in):
    assert signed_in("planner").get(reverse("spares:detail", args=[999999])).status_code == 404


def test_only_those_who_may_edit_stock_are_offered_to_move_it(plant, signed_in):
    assert "Record a movement" in opened(signed_in, "Relay board")
    assert "Record a movement" not in opened(signed_in, "Relay board", "technician")


# Movements


def moved(signed_in, **facts):
    model = CatalogueModel.objects.get(name="Relay board")
    line = model.stock_lines.get()
    usual = {
        "kind": "receipt",
        "store_place": line.store_place,
        "quantity": 4,
        "on": timezone.localdate(),
        "reason": "Delivery 17",
    }
    response = signed_in("planner").post(reverse("spares:move", args=[model.pk]), usual | facts)
    line.refresh_from_db()
    return response, line.quantity


def test_a_movement_is_recorded_and_the_figure_follows(plant, signed_in):
    response, quantity = moved(signed_in)
    assert (response.status_code, quantity) == (302, 5)
    page = opened(signed_in, "Relay board")
    assert "Delivery 17" in page
    listed = signed_in("auditor").get(reverse("spares:movements") + "?q=relay+delivery")
    assert [row.record.balance for row in listed.context["table"].rows] == [5]


def test_a_count_is_of_all_that_lies_there(plant, signed_in):
    assert moved(signed_in, kind="count", quantity=7)[1] == 7
    assert StockMovement.objects.get().change == 6


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"kind": "issue", "quantity": 2}, "quantity"),
        ({"quantity": 0}, "quantity"),
        ({"on": "2999-01-01"}, "on"),
        ({"kind": "issue", "store_place": "Nowhere"}, "store_place"),
        ({"reason": ""}, "reason"),
    ],
)
def test_a_wrong_movement_keeps_what_was_typed_and_changes_nothing(plant, signed_in, facts, field):
    response, quantity = moved(signed_in, **facts)
    assert (response.status_code, quantity) == (200, 1)
    assert field in response.context["form"].errors
    assert not StockMovement.objects.exists()


def test_an_order_is_recorded_received_and_closed(plant, signed_in):
    model = CatalogueModel.objects.get(name="Relay board")
    client = signed_in("planner")
    facts = {
        "kind": "on order",
        "reference": "P-7",
        "quantity": 3,
        "made_on": "2025-02-03",
        "expected_on": "2025-03-03",
    }
    assert client.post(reverse("spares:plan", args=[model.pk]), facts).status_code == 302
    order = PlannedMovement.objects.get()
    assert figures(client.get(LIST))["Relay board"] == (3, 1, 3, 0)
    assert moved(signed_in, quantity=2, planned=order.pk)[1] == 3
    url = reverse("spares:close_planned", args=[order.pk])
    assert client.post(url, {"reason": "The maker stopped"}).status_code == 302
    order.refresh_from_db()
    assert (order.moved, order.outstanding, order.closed_reason) == (2, 0, "The maker stopped")


# Best buys, kits


def test_the_best_buys_for_a_sum_are_listed_and_drawn(plant, signed_in):
    rated(plant)
    Installation.objects.update(from_date=timezone.localdate())
    CatalogueModel.objects.update(failure_rate_per_year=Decimal(2))
    page = signed_in("auditor").get(reverse("spares:budget") + "?money=120")
    bought = page.context["bought"]
    assert sum(cost for _spare, _pieces, cost in bought) == page.context["spent"] <= 120
    assert page.context["removed"] > 0
    chart = page.context["chart"]
    risks = [dict(named)["Risk left"] for _label, named in chart.rows]
    assert risks == sorted(risks, reverse=True)
    assert chart.shown_labels[0] == "0"
    html = page.content.decode()
    assert "<table" in html.partition('class="chart"')[2], "the figures stand in a table behind the curve"


@pytest.mark.parametrize("money", ["-5", "much"])
def test_a_sum_that_is_none_is_refused_on_the_page(plant, signed_in, money):
    page = signed_in("planner").get(reverse("spares:budget") + f"?money={money}")
    assert page.status_code == 200
    assert "money" in page.context["form"].errors


def test_a_kit_for_loops_says_where_each_part_lies(plant, signed_in):
    url = reverse("spares:kit") + "?loops=t-101,+T-103&days=365"
    page = signed_in("technician").get(url)
    lines = {line.spare.row.name: line for line in page.context["lines"]}
    assert lines["Relay board"].installed == 2
    assert lines["Relay board"].at == ["Main store B2: 1"]
    assert lines["Regent 96"].lacking == 1
    assert "Reserve" not in page.content.decode()


def test_a_planner_keeps_a_kit_back(plant, signed_in):
    url = reverse("spares:kit") + "?loops=T-101&days=365"
    facts = {"reference": "Boiler stop", "expected_on": "2999-01-01"}
    assert signed_in("planner").post(url, facts).status_code == 302
    assert set(PlannedMovement.objects.values_list("model__name", "quantity")) == {
        ("Relay board", 1),
        ("Linear board", 1),
    }
    again = signed_in("planner").post(url, facts)
    assert again.status_code == 200
    assert "reference" in again.context["reserve"].errors


@pytest.mark.parametrize(
    ("query", "field"), [("?loops=T-999&days=1", "loops"), ("?days=1", "area"), ("?loops=T-101&days=0", "days")]
)
def test_a_kit_for_nothing_says_what_is_wrong(plant, signed_in, query, field):
    page = signed_in("planner").get(reverse("spares:kit") + query)
    assert page.status_code == 200
    assert field in page.context["form"].errors


def test_the_kit_is_printed_and_written_as_a_workbook(plant, signed_in):
    query = "?loops=T-101&days=365"
    printed = signed_in("planner").get(reverse("spares:kit_pdf") + query)
    assert b"".join(printed.streaming_content).startswith(b"%PDF-1.")
    rows, _ = workbook_of(signed_in("planner").get(reverse("spares:kit_xlsx") + query))
    assert rows[1][0] == "Of: T-101, to last 365 days"
    assert ["Fennel Row Relay board", "option board", "=R-2", 1, 1, 1, 0, "Main store B2: 1"] in rows


def test_places_one_failure_from_stopping_name_the_part(plant, signed_in):
    page = signed_in("auditor").get(reverse("spares:one_failure") + "?criticality=safety")
    rows = [row.record for row in page.context["bare"].rows]
    assert [(one.tag.name, one.bay, one.part.row.name) for one in rows] == [
        ("TE-102", "", "Probe pt100"),
        ("TIC-102", "", "Regent 96"),
        ("TV-102", "", "Globe 40"),
    ]
