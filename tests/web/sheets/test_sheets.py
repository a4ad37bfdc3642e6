import io
from datetime import timedelta

import pikepdf
import pytest
from django.urls import reverse
from django.utils import timezone

from register.models import Loop, PlantSettings
from register.plant import sketch
from register.services.concessions import grant_concession
from register.services.editing import change_settings, edit_loop
from tests import factories

PDF = reverse("sheets:pdf", args=["T-101"])
SVG = reverse("sheets:diagram", args=["T-101"])


@pytest.fixture
def loop(person) -> Loop:
    """Recorded on 5 March 2024, then given a set-point limit outside its range, then another service."""
    planner = person("planner")
    loop = factories.loop(sketch.temperature_loop("101"), by=planner)
    tag = loop.tags.get(name="TIC-101")
    change_settings(tag, {"set_point_high": 250}, by=planner, seen_revision=1, reason="Try a hotter tank")
    loop.refresh_from_db()
    edit_loop(loop, {"service": "Steep water"}, by=planner, seen_revision=2, reason="Renamed")
    return loop


def subject(content: bytes) -> str:
    """What the PDF's metadata says that it is about."""
    with pikepdf.open(io.BytesIO(content)) as document:
        return str(document.docinfo.Subject)


def test_the_sheet_shows_the_loop_as_it_stands(loop, signed_in):
    answer = signed_in("technician").get(PDF)
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Content-Disposition"] == 'inline; filename="T-101.pdf"'
    assert subject(answer.content) == "Steep water, revision 3"


def test_the_sheet_shows_the_loop_as_it_stood_at_the_end_of_a_day(loop, signed_in):
    answer = signed_in("auditor").get(PDF, {"on": "2024-03-05"})
    assert subject(answer.content) == "Hot water temperature, revision 1"
    assert answer.headers["Content-Disposition"] == 'inline; filename="T-101 2024-03-05.pdf"'


def test_equal_requests_give_equal_bytes(loop, signed_in):
    client = signed_in("auditor")
    assert client.get(PDF).content == client.get(PDF).content


def test_the_paper_is_the_plant_s_unless_another_is_asked_for(loop, signed_in):
    PlantSettings.objects.create(name="Works", paper="A3")

    def width(**asked) -> int:
        document = pikepdf.open(io.BytesIO(signed_in("planner").get(PDF, asked).content))
        return round(float(document.pages[0].mediabox[2]) * 25.4 / 72)

    assert width() == 420
    assert width(paper="A4") == 297


def test_the_diagram_flags_what_is_open_and_what_was_open(loop, signed_in):
    client = signed_in("technician")
    now = client.get(SVG)
    assert now.headers["Content-Type"] == "image/svg+xml"
    warning = 'fill="#8a5200">1</text>'
    assert warning in now.content.decode()
    assert warning not in client.get(SVG, {"on": "2024-03-05"}).content.decode()


def test_a_concession_stands_on_the_sheet_until_the_day_before_it_was_granted(loop, person, signed_in, pdf_text):
    finding = loop.findings.open().get(rule="set-point-limits-outside-range")
    grant_concession(
        finding,
        reason="Trial until the shutdown",
        until=timezone.localdate() + timedelta(days=30),
        reference="CN 12",
        by=person("planner"),
        seen_revision=3,
    )
    client = signed_in("auditor")
    assert "Trial until the shutdown" in pdf_text(client.get(PDF).content)
    assert "Trial until the shutdown" not in pdf_text(client.get(PDF, {"on": "2024-03-05"}).content)


def test_a_day_before_the_loop_was_recorded_has_no_sheet(loop, signed_in):
    assert signed_in("auditor").get(PDF, {"on": "2024-03-04"}).status_code == 404


@pytest.mark.parametrize(
    ("asked", "said"), [({"on": "last week"}, "2026-03-01"), ({"paper": "B5"}, "A4, A3, Letter, Tabloid")]
)
def test_a_day_or_paper_that_is_none_is_refused_with_the_remedy(loop, signed_in, asked, said):
    answer = signed_in("auditor").get(PDF, asked)
    assert answer.status_code == 400
    assert said in answer.content.decode()


def test_a_loop_that_does_not_exist_has_no_sheet(signed_in):
    assert signed_in("auditor").get(PDF).status_code == 404


def test_whoever_has_not_signed_in_is_led_to_do_so(loop, client):
    assert client.get(PDF).headers["Location"].startswith("/sign-in/")
    assert client.get(SVG).status_code == 302


def test_a_diagram_takes_the_same_queries_however_many_loops_there_are(
    loop, person, signed_in, django_assert_num_queries
):
    """Two for the person; the loop's key, which revision, the revision, findings, concessions and issues."""
    factories.many_loops(6, by=person("planner"), first=50)
    client = signed_in("auditor")
    with django_assert_num_queries(8):
        client.get(SVG)
