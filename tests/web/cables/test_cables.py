from __future__ import annotations

import pytest

from register.models import Cable, Link
from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def loop(person):
    """A two-wire Pt100 whose 20 m of 0.5 mm² read 3.8 °C high."""
    return factories.loop(sketch.two_wire_pt_loop(signal="pt100"), by=person("planner"))


def form_of(cable, **facts):
    names = ("name", "use", "designation", "cores", "csa_mm2", "length_m", "screened", "screen_earthed_at")
    shown = {name: getattr(cable, name) for name in names}
    return {name: fact for name, fact in (shown | facts | {"reason": "Measured again"}).items() if fact is not None}


def test_a_corrected_cable_clears_the_finding_of_the_loop_that_runs_through_it(loop, signed_in):
    assert [one.rule for one in loop.findings.open()] == ["lead-error-too-large"]
    cable = Cable.objects.get(name="C-1011")

    signed_in("planner").post(f"/cables/{cable.pk}/correct/", form_of(cable, length_m="2"))

    loop.refresh_from_db()
    assert not loop.findings.open().exists()
    assert loop.revisions.first().changes == [
        "link TE-101 Element → TIC-101 Input core 1 of C-1011 cable: length m 20 → 2",
        "link TE-101 Element → TIC-101 Input core 2 of C-1011 cable: length m 20 → 2",
    ]


def test_the_preview_tells_it_first_and_saves_nothing(loop, signed_in):
    cable = Cable.objects.get(name="C-1011")
    page = signed_in("planner").post(f"/cables/{cable.pk}/correct/", form_of(cable, length_m="2") | {"preview": "1"})

    assert "These findings clear" in page.content.decode()
    cable.refresh_from_db()
    assert cable.length_m == 20


def test_a_cable_page_shows_what_runs_through_it(loop, signed_in):
    page = signed_in("auditor").get("/cables/C-1011/").content.decode()

    assert "TE-101 Element" in page
    assert "TIC-101 Input" in page


def cores(link, *rows):
    data = {"cores-TOTAL_FORMS": len(rows), "cores-INITIAL_FORMS": 0}
    for place, row in enumerate(rows):
        data |= {f"cores-{place}-{name}": value for name, value in row.items()}
    return data | {"reason": "Wired anew", "seen_revision": 1}


def test_the_cores_of_a_link_are_set_in_order(loop, signed_in):
    link = Link.objects.get(target__name="Signal")
    cable = Cable.objects.get(name="C-1012").pk
    rows = [
        {"cable": cable, "core": "7", "colour": "white", "polarity": "+", "from_terminal": "11", "to_terminal": "1"},
        {"cable": cable, "core": "8", "colour": "black", "polarity": "-", "from_terminal": "12", "to_terminal": "2"},
        {"cable": "", "core": ""},
    ]

    answer = signed_in("planner").post(f"/tags/TV-101/links/{link.pk}/cores/", cores(link, *rows))

    assert answer.status_code == 302
    assert list(link.cores.values_list("core", "colour", "from_terminal")) == [
        ("7", "white", "11"),
        ("8", "black", "12"),
    ]
    loop.refresh_from_db()
    assert loop.revision == 2


def test_a_core_without_its_number_is_refused_and_nothing_is_lost(loop, signed_in):
    link = Link.objects.get(target__name="Signal")
    rows = [{"cable": Cable.objects.get(name="C-1012").pk, "core": "", "colour": "white"}]

    page = signed_in("planner").post(f"/tags/TV-101/links/{link.pk}/cores/", cores(link, *rows))

    assert "This field is required" in page.content.decode()
    assert 'value="white"' in page.content.decode()
    assert link.cores.count() == 2
