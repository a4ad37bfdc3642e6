from __future__ import annotations

import io
import shutil
import subprocess

import pytest
import zxingcpp
from django.test import Client
from PIL import Image

from register.models import Tag
from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def client(signed_in, person):
    factories.loop(by=person("planner"))
    return signed_in("technician")


def scanned(pdf: bytes) -> set[str]:
    """What a scanner reads on the first page: zxing-cpp, an independent reader of ISO/IEC 18004."""
    program = shutil.which("pdftoppm") or pytest.skip("pdftoppm was not found (Debian: apt-get install poppler-utils)")
    drawn = subprocess.run(
        [program, "-r", "200", "-png", "-f", "1", "-l", "1", "-"], input=pdf, capture_output=True, check=True
    )
    return {code.text for code in zxingcpp.read_barcodes(Image.open(io.BytesIO(drawn.stdout)))}


def test_every_tag_label_scans_to_the_tags_own_address(client):
    page = client.get("/labels/tags.pdf")
    assert scanned(page.content) == {f"http://testserver/t/{name}" for name in ("TE-101", "TIC-101", "TV-101")}


def test_an_asset_label_scans_to_one_address_for_one_item(client, pdf_text):
    """IEC 61406-1 (from memory): a unique address for each item, of 100 characters at most."""
    page = client.get("/labels/assets.pdf?code=A1012")
    assert scanned(page.content) == {"http://testserver/a/A1012"}
    assert "Serial SA1012" in pdf_text(page.content)


def test_the_lists_filters_choose_what_is_printed(client, pdf_text):
    assert "TE-101" not in pdf_text(client.get("/labels/tags.pdf?role=controller").content)


def test_nothing_to_print_is_said(client):
    page = client.get("/labels/tags.pdf?name=XX-1")
    assert page.status_code == 422
    assert page.content.decode().startswith("Nothing would be printed.")


def test_a_label_opens_its_page_after_sign_in(client):
    sent = Client().get("/t/TIC-101")
    assert sent.headers["Location"] == "/sign-in/?next=/t/TIC-101"
    assert client.get("/t/TIC-101").headers["Location"] == "/panel/TIC-101/"
    assert client.get("/a/A1012").headers["Location"] == "/assets/A1012/"
    assert client.get("/a/NONE").status_code == 404


def test_the_label_of_a_retired_tag_still_leads_to_its_history(client):
    Tag.objects.filter(name="TV-101").update(retired_on="2025-01-01")
    assert client.get("/t/TV-101").headers["Location"] == "/tags/TV-101/"


def test_a_stored_asset_has_a_label_too(client):
    factories.asset("SPARE1", sketch.controller_model())
    assert scanned(client.get("/labels/assets.pdf?code=SPARE1").content) == {"http://testserver/a/SPARE1"}
