from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from register.models import Calibration, PlantSettings, Revision, Tag
from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def made(person) -> Calibration:
    factories.loop(sketch.pressure_loop(), by=person("planner"))
    Tag.objects.filter(name="PT-201").update(calibration_interval_months=12)
    PlantSettings.objects.create(name="Larkwater Maltings")
    return factories.calibration(Tag.objects.get(name="PT-201"), by=person("technician"))


def certificate(client, calibration):
    return client.get(reverse("calibrations:certificate", args=[calibration.pk]))


def test_the_certificate_says_what_was_read_with_what_and_in_which_revision(made, signed_in, pdf_text):
    """IEC 60381-1: 12 mA at half of the range; 0.25 % of 10 bar is 0.025 bar; a year after 3 June 2024."""
    response = certificate(signed_in("auditor"), made)
    text = " ".join(pdf_text(response.content).split())

    assert response["Content-Type"] == "application/pdf"
    assert "PT-201" in text
    assert "serial number SA2011" in text
    assert "±0.25 % of span (±0.0250 bar)" in text
    assert "Loop calibrator LC-02" in text
    assert "0.05 % of span; the tolerance is 5.0 times as wide" in text
    assert "50 % rising 5 12.000 12.000 +0.0000 +0.000" in text
    assert "Next due: 3 June 2025" in text
    assert "Nothing was adjusted" in text
    assert Revision.objects.get(number=2).sha256 in text.replace(" ", "")


def test_the_certificate_names_the_revision_that_recorded_it_whatever_came_later(made, signed_in, person, pdf_text):
    factories.calibration(Tag.objects.get(name="PT-201"), by=person("planner"), on=date(2024, 9, 2))
    text = " ".join(pdf_text(certificate(signed_in("auditor"), made).content).split())
    assert "Revision of P-201 2," in text


def test_equal_records_give_equal_bytes(made, signed_in):
    client = signed_in("auditor")
    assert certificate(client, made).content == certificate(client, made).content


def test_a_bare_result_has_no_certificate(made, signed_in):
    imported = Calibration.objects.create(tag=Tag.objects.get(name="PT-201"), on=date(2023, 5, 2), result="pass")
    client = signed_in("auditor")
    assert certificate(client, imported).status_code == 404
    assert "Certificate (PDF)" not in client.get(f"/calibrations/{imported.pk}/").content.decode()
