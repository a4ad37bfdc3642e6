from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from register.models import Asset
from register.plant import sketch
from register.services.assets import add_asset, correct_asset
from register.services.permissions import NotAllowed
from register.services.recording import Refused
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def planner(person):
    return person("planner")


def test_a_corrected_serial_number_clears_the_finding_that_two_bear_it(planner):
    loop = factories.loop(by=planner)
    factories.asset("A7777", sketch.controller_model(name="Regent 48"), serial="SA1012")
    correct_asset(Asset.objects.get(code="A1012"), {"remarks": "Plate read"}, by=planner, reason="Inspection")
    assert [one.rule for one in loop.findings.open()] == ["serial-number-twice"]

    correct_asset(Asset.objects.get(code="A1012"), {"serial": "SA1021"}, by=planner, reason="Digits swapped")

    assert not loop.findings.open().exists()
    loop.refresh_from_db()
    assert loop.revision == 2


def test_two_items_of_one_model_cannot_bear_one_serial_number(planner):
    factories.asset("A1", sketch.controller_model())

    with pytest.raises(ValidationError, match="serial"):
        add_asset({"code": "A2", "serial": "SA1", "model": factories.catalogue_model()}, by=planner, reason="Delivered")


def test_nothing_is_in_service_that_stands_nowhere(planner):
    asset = factories.asset("A1", sketch.controller_model())

    with pytest.raises(Refused, match="record that at its tag"):
        correct_asset(asset, {"state": "in service"}, by=planner, reason="Slip")


def test_a_technician_may_not_add_assets(person):
    with pytest.raises(NotAllowed):
        add_asset({"code": "A2"}, by=person("technician"), reason="Delivered")
