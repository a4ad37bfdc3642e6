from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from register.calc.calibration import due_on
from register.models import Area, Calibration, Loop, Tag
from register.plant import sketch
from register.services.checking import recheck
from tests import factories

LIST = reverse("calibrations:list")


@pytest.fixture
def plant(loop, person):
    """PT-201 never calibrated; PT-202 long overdue, at the kiln; PT-203 due in ten days; PT-204 far off."""
    for number, area in (("202", "Works / Kiln 1"), ("203", "Works / Boiler house"), ("204", "Works / Boiler house")):
        factories.loop(sketch.pressure_loop(number), by=person("planner"), area=area)
    Tag.objects.filter(role="transmitter").update(calibration_interval_months=12)
    today = timezone.localdate()
    soon = next(
        day for back in range(340, 370) if due_on(day := today - timedelta(days=back), 12) == today + timedelta(days=10)
    )
    for name, on in (("PT-202", date(2024, 3, 5)), ("PT-203", soon), ("PT-204", today)):
        Calibration.objects.create(tag=Tag.objects.get(name=name), on=on, result="pass")
    recheck(Loop.objects.values_list("pk", flat=True), at=timezone.now())


def tags(response) -> list[str]:
    return [row.record.name for row in response.context["table"].rows]


def test_the_most_urgent_stands_first(plant, signed_in):
    page = signed_in("auditor").get(LIST)
    assert tags(page) == ["PT-201", "PT-202", "PT-203", "PT-204"]


def test_what_is_overdue_says_so_in_a_word_and_a_shape(plant, signed_in):
    page = signed_in("auditor").get(LIST).content.decode()
    assert page.count('<use href="#mark-warning"/></svg>Overdue by ') == 1
    assert page.count('<use href="#mark-warning"/></svg>Never calibrated') == 1
    assert "in 10 days" in page
    assert "2 of these are overdue or never calibrated" in page


@pytest.mark.parametrize(
    ("query", "names"),
    [
        ("standing=overdue", ["PT-201", "PT-202"]),
        ("standing=never", ["PT-201"]),
        ("standing=soon", ["PT-203"]),
        ("due_by=2025-12-31", ["PT-201", "PT-202"]),
        ("q=203", ["PT-203"]),
        ("standing=nonsense&due_by=never", ["PT-201", "PT-202", "PT-203", "PT-204"]),
    ],
)
def test_the_list_is_narrowed(plant, signed_in, query, names):
    assert tags(signed_in("auditor").get(f"{LIST}?{query}")) == names


def test_the_list_is_narrowed_to_an_area(plant, signed_in):
    kiln = Area.objects.get(name="Kiln 1").pk
    assert tags(signed_in("auditor").get(f"{LIST}?area={kiln}")) == ["PT-202"]


def test_only_those_who_may_record_are_led_to_the_form(plant, signed_in):
    form = reverse("calibrations:record", args=["PT-201"])
    assert form in signed_in("technician").get(LIST).content.decode()
    assert form not in signed_in("auditor").get(LIST).content.decode()


def test_more_tags_cost_no_more_queries(plant, signed_in, person, django_assert_max_num_queries):
    client = signed_in("auditor")
    for number in range(205, 215):
        factories.loop(sketch.pressure_loop(str(number)), by=person("planner"))
    Tag.objects.filter(role="transmitter").update(calibration_interval_months=12)
    with django_assert_max_num_queries(7):
        client.get(LIST)
