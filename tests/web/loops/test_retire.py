from __future__ import annotations

import pytest

from register.models import Installation, Loop, Tag
from tests import factories

pytestmark = pytest.mark.django_db

SIGNED = {"reason": "The tank is gone", "seen_revision": 1}


@pytest.fixture
def loop(person):
    return factories.loop(by=person("planner"))


def test_a_loop_with_something_installed_is_not_retired_and_says_what_to_do(loop, signed_in):
    page = signed_in("planner").post("/loops/T-101/retire/", SIGNED)

    assert "Assets are still installed at TE-101, TIC-101, TV-101. Take them out first" in page.content.decode()
    assert Loop.objects.in_service().exists()


def test_a_retired_loop_leaves_the_list_and_keeps_its_history(loop, signed_in):
    Installation.objects.update(to_date="2025-01-01")
    client = signed_in("planner")
    client.post("/loops/T-101/retire/", SIGNED)

    assert "/loops/T-101/" not in client.get("/loops/").content.decode()
    page = client.get("/loops/T-101/").content.decode()
    assert "This loop was retired on" in page
    assert not loop.findings.open().exists()


def test_a_retired_tag_is_no_longer_part_of_its_loop(loop, signed_in):
    Installation.objects.filter(tag__name="TV-101").update(to_date="2025-01-01")
    answer = signed_in("planner").post("/tags/TV-101/retire/", SIGNED)

    assert answer.url == "/loops/T-101/"
    assert Tag.objects.get(name="TV-101").retired_on
    assert [tag.name for tag in loop.revisions.first().loop_value().tags] == ["TE-101", "TIC-101"]
