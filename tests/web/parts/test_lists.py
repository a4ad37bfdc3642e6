"""Every list of the register as a file: one mechanism, so one set of tests."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal

import openpyxl
import pytest
from django.urls import reverse

from register.exchange.dexpi.keeping import keep
from register.models import Cable
from register.plant import sketch
from tests import factories
from tests.exchange.dexpi import drawings

pytestmark = pytest.mark.django_db

LISTS = {
    "loops": reverse("loops:list"),
    "tags": reverse("tags:list"),
    "findings": reverse("findings:list"),
    "gaps": reverse("completeness:list"),
    "gaps of an item": reverse("completeness:detail", args=["calibration"]),
    "assets": reverse("assets:list"),
    "calibrations": reverse("calibrations:list"),
    "cables": reverse("cables:list"),
    "catalogue": reverse("catalogue:list"),
    "families": reverse("catalogue:families"),
    "spares": reverse("spares:list"),
    "packs": reverse("packs:list"),
    "rules": reverse("rules:list"),
    "changes of many": reverse("many:list"),
    "imports": reverse("exchange:list"),
    "drawings": reverse("drawings:list"),
    "obsolete models": reverse("obsolescence:list"),
    "history": reverse("history:list", args=["T-101"]),
    "issues": reverse("issues:list", args=["T-101"]),
}


PAGE_ONLY = ("Choose", "Peek", "Work", "What would fit")
"""Columns that a person works with, or that are judged for one page at a time."""


@pytest.fixture
def plant(person):
    planner = person("planner")
    for number, area in (("101", "Works / Kiln 1"), ("102", "Works / Boiler house"), ("103", "Works / Boiler house")):
        factories.loop(sketch.temperature_loop(number), by=planner, area=area)
    keep(drawings.PLANT, "C01.xml", by=planner)
    Cable.objects.create(name="C-1", cores=2, csa_mm2=Decimal("1.50"))


def rows(client, address: str, **query) -> list[dict]:
    return json.loads(client.get(address, query | {"download": "json"}).getvalue(), parse_float=Decimal)["rows"]


@pytest.mark.parametrize("name", LISTS)
def test_every_list_is_taken_along_in_each_format_with_what_its_page_shows(plant, signed_in, name):
    client = signed_in("planner")
    page = client.get(LISTS[name])
    headings = [str(column.header) for column in page.context["table"].columns]
    shown = len(page.context["table"].rows)
    assert page.content.decode().count('<li><a href="?download=') == 3
    sheet = openpyxl.load_workbook(io.BytesIO(client.get(LISTS[name], {"download": "xlsx"}).getvalue())).active
    text = client.get(LISTS[name], {"download": "csv"}).getvalue().decode("utf-8-sig")
    heading, *lines = csv.reader(io.StringIO(text, newline=""))
    assert [one for one in headings if one not in PAGE_ONLY] == [one for one in heading if one in headings]
    assert [cell.value for cell in sheet[3]] == heading
    assert len(lines) == sheet.max_row - 3 == len(rows(client, LISTS[name])) == shown
    assert not any("<" in cell or "object at" in cell for line in lines for cell in line)


def test_filters_search_and_order_are_in_force(plant, signed_in):
    client, boilers = signed_in("auditor"), factories.area("Works / Boiler house").pk
    assert [one["number"] for one in rows(client, LISTS["loops"], area=boilers, sort="-number")] == ["T-103", "T-102"]
    assert [one["name"] for one in rows(client, LISTS["tags"], q="TIC-102", page=7)] == ["TIC-102"]
    page = client.get(LISTS["loops"], {"area": boilers, "page": 1}).content.decode()
    assert f'href="?area={boilers}&amp;download=csv"' in page
    sheet = openpyxl.load_workbook(
        io.BytesIO(client.get(LISTS["loops"], {"area": boilers, "download": "xlsx"}).getvalue())
    ).active
    assert sheet["A2"].value == "Narrowed by: Area: Works / Boiler house"


def test_numbers_keep_their_digits_and_no_row_asks_the_database(
    plant, person, signed_in, django_assert_max_num_queries
):
    client = signed_in("auditor")
    (cable,) = (row for row in rows(client, LISTS["cables"]) if "C-1" in row.values())
    assert str(cable["csa_mm2"]) == "1.50"
    for name in ("loops", "tags", "assets", "findings", "catalogue", "spares", "calibrations"):
        client.get(LISTS[name], {"download": "csv"})  # the person's session is known
        with django_assert_max_num_queries(20 if name == "spares" else 5):  # spares are worked out from many tables
            client.get(LISTS[name], {"download": "csv"}).getvalue()


def test_a_format_that_there_is_not_shows_the_page(plant, signed_in):
    assert signed_in("auditor").get(LISTS["loops"], {"download": "exe"}).context["downloads"]
