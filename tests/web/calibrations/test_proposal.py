"""A laboratory's certificate fills the form in and saves nothing."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from register.models import Calibration
from register.plant import sketch
from tests import factories
from tests.exchange.certificates import certificate

FORM = reverse("calibrations:record", args=["TE-101"])


@pytest.fixture
def loop(person):
    return factories.loop(sketch.temperature_loop(), by=person("planner"))


@pytest.fixture
def sent(loop, signed_in):
    def sent(data: bytes, form: str = FORM):
        file = SimpleUploadedFile("certificate.xml", data, content_type="text/xml")
        return signed_in("technician").post(form, {"read": "1", "digital_certificate": file})

    return sent


def filled_in(response) -> dict:
    return {field.name: field.value() for field in response.context["form"]}


def remarks(response) -> str:
    return " ".join(response.context["proposal"].remarks)


def test_the_form_is_filled_in_and_nothing_is_saved(sent, loop):
    """0.5 and 0.06 K of 200 K are 0.25 and 0.03 %; 373.35 K is 100.2 °C, where Pt100 has 138.58 Ω (IEC 60751:2008)."""
    found = filled_in(sent(certificate()))

    assert str(found["on"]) == "2024-05-16"
    assert found["certificate"] == "HL-2024-0311"
    assert found["by_whom"] == "Harrow Lane Laboratory, I. Marsh"
    assert found["standard"] == "Reference thermometer, RT-3"
    assert (float(found["tolerance_percent"]), float(found["standard_uncertainty_percent"])) == (0.25, 0.03)
    assert float(found["as_found_up_50"]) == pytest.approx(138.58, abs=0.005)
    assert found["as_found_down_50"] is None
    assert Calibration.objects.count() == 0
    loop.refresh_from_db()
    assert loop.revision == 1


def test_the_laboratory_keeps_its_own_points(sent):
    """33.098 and 99.971 °C are 306.248 and 373.121 K, as PTB's good-practice certificate of a sensor states both."""
    kelvin = (r"\kelvin", "306.248 373.121")
    response = sent(certificate(reference=kelvin, measured=kelvin, error=(r"\kelvin", "0 0")))
    assert filled_in(response)["percents"] == "16.549 49.9855"
    assert "Apply 33.098 °C" in response.content.decode()


def test_what_was_proposed_can_be_saved_as_it_stands(sent, loop, signed_in):
    """The worst is 0.2 K of 200 K, 0.1 % of span."""
    found = {name: value for name, value in filled_in(sent(certificate())).items() if value is not None}
    signed_in("technician").post(FORM, found)

    made = Calibration.objects.get()
    assert (made.result, made.points, made.certificate) == ("pass", 5, "HL-2024-0311")
    assert float(made.worst_error_percent) == pytest.approx(0.1, abs=0.001)


def test_the_certificate_of_another_item_is_pointed_out(sent):
    assert "The certificate is of another item: it names X-9, and SA1011 stands at TE-101" in remarks(
        sent(certificate(serial="X-9"))
    )


def test_the_laboratorys_own_verdict_is_pointed_out(sent):
    assert "own verdict is: fail" in remarks(sent(certificate(conformity="fail")))


def test_points_outside_the_range_are_left_out_and_said(sent):
    response = sent(certificate(reference=(r"\kelvin", "273.15 323.15 373.15 423.15 573.15")))
    assert filled_in(response)["percents"] == "0 25 50 75"
    assert "1 of its points lie outside 0–200 °C" in remarks(response)


def test_a_certificate_of_another_quantity_fills_in_what_it_can(sent):
    response = sent(certificate(reference=(r"\kilo\pascal", "0 100"), measured=(r"\kilo\pascal", "0 100")))
    assert "the range of TE-101 is 0–200 °C: type it in" in remarks(response)
    assert filled_in(response)["certificate"] == "HL-2024-0311"


def test_a_file_that_is_no_certificate_says_so(sent):
    response = sent(b"<html/>")
    assert "no digital calibration certificate" in response.content.decode()
    assert response.context["form"].errors == {}


def test_no_file_says_so(loop, signed_in):
    response = signed_in("technician").post(FORM, {"read": "1"})
    assert response.context["upload"].errors


def test_points_that_are_nonsense_are_refused(loop, signed_in):
    page = signed_in("technician").post(FORM, {"percents": "50 20 nan"}).content.decode()
    assert "The points of a check rise from 0 to 100 %" in page
