"""The lists of loops and tags as a workbench: counts, columns, places, a row beside them, saved views."""

from __future__ import annotations

import re
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.models import Loop, SavedView, Tag, searching
from register.plant import sketch
from register.services.permissions import NotAllowed
from register.services.views import change_view, remove_view, save_view
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant(person):
    """Eight right loops in three areas, and one with an alarm out of reach."""
    planner = person("planner")
    factories.many_loops(8, by=planner)
    faulty = sketch.with_alarm(sketch.temperature_loop("120"), "TIC-120", "Alarm 1", set_point=sketch.number(900))
    return factories.loop(faulty, by=planner, area="Works / Kiln 1", service="Kiln 1 air-off temperature")


def facets(response) -> dict[str, dict[str, int | None]]:
    return {
        facet.name: {str(one.label): one.count for one in facet.choices} for facet in response.context["bench"].facets
    }


def listed(response) -> list[str]:
    return re.findall(r'rowheader" data-label="(?:Loop|Tag)"><a href="/\w+/([^/]+)/"', response.content.decode())


def test_each_filter_says_how_many_loops_it_would_leave(plant, signed_in):
    found = facets(signed_in("auditor").get("/loops/"))

    assert found["area"] == {"Boiler house": 3, "Effluent": 2, "Kiln 1": 4}
    assert found["criticality"] == {"safety": 2, "environment": 2, "production": 3, "routine": 2}
    assert found["severity"] == {"Warning": 1, "None": 8}


def test_the_counts_of_a_filter_heed_all_others_but_not_itself(plant, signed_in):
    kiln = factories.area("Works / Kiln 1")
    response = signed_in("auditor").get("/loops/", {"area": kiln.pk, "criticality": "routine"})
    found = facets(response)

    assert listed(response) == ["P-108"]
    assert found["criticality"] == {"safety": 1, "environment": 1, "production": 1, "routine": 1}
    assert found["area"] == {"Kiln 1": 1}


@pytest.mark.parametrize("query", ["q=T-1", "q=IC-10", "q=air-off&severity=warning", "kind=control", "severity=none"])
def test_the_total_and_the_counts_are_those_of_the_rows(plant, signed_in, query):
    response = signed_in("auditor").get(f"/loops/?{query}")
    assert response.context["bench"].total == len(listed(response)) > 0


def test_a_search_that_very_many_match_gives_its_rows_without_counts(plant, signed_in, monkeypatch):
    monkeypatch.setattr(searching, "MOST", 3)
    monkeypatch.setattr("register.web.workbench.bench.MOST", 3)
    response = signed_in("auditor").get("/loops/?q=temperature")

    assert listed(response) == ["T-101", "T-103", "T-105", "T-107", "T-120"]
    assert set(facets(response)["kind"].values()) == {None}
    assert "More than 3 match" in response.content.decode()


def test_what_is_retired_is_neither_listed_nor_counted(plant, signed_in):
    Loop.objects.filter(number="T-120").update(retired_on=date(2026, 3, 1))
    response = signed_in("auditor").get("/loops/")
    assert "T-120" not in listed(response)
    assert response.context["bench"].total == 8


def test_columns_are_chosen_in_the_address_and_what_names_the_row_stays(plant, signed_in):
    page = signed_in("auditor").get("/loops/?column=target_sil&column=revision&column=nonsense").content.decode()
    assert re.findall(r'columnheader"[^>]*>(?:<a[^>]*>)?([^<]+)', page) == ["Loop", "Target SIL", "Revision", "Peek"]


@pytest.mark.parametrize(
    "query",
    ["sort=nonsense", "sort=-pick", "after=&before=", "area=nonsense", "kind=nonsense", "peek=nonsense", "q=%00"],
)
def test_nonsense_in_an_address_leaves_the_whole_list(plant, signed_in, query):
    response = signed_in("auditor").get(f"/loops/?{query}")
    assert len(listed(response)) == 9


def test_pages_follow_each_other_and_keep_the_filters(person, signed_in):
    factories.many_loops(53)
    client = signed_in("auditor")
    first = client.get("/loops/?kind=control&sort=-number&peek=T-101")
    onwards = re.search(r'rel="next"[^>]*href="([^"]+)"', first.content.decode())[1].replace("&amp;", "&")
    second = client.get(f"/loops/{onwards}")
    back = re.search(r'rel="prev"[^>]*href="([^"]+)"', second.content.decode())[1].replace("&amp;", "&")

    assert onwards == "?kind=control&sort=-number&after=P-108"
    assert listed(second) == ["P-106", "P-104", "P-102"]
    assert len(listed(first)) == 50
    assert listed(client.get(f"/loops/{back}")) == listed(first)
    assert listed(client.get("/loops/?kind=control&last=1"))[-1] == "T-153"


def test_a_row_stands_beside_the_list_with_its_findings(plant, signed_in):
    page = signed_in("auditor").get("/loops/?q=T-1&peek=T-120").content.decode()
    beside = page[page.index('id="peek"') :]
    assert "T-120 beside the list" in page
    assert "Kiln 1 air-off temperature" in beside
    assert 'href="/tags/TIC-120/"' in beside
    assert "alarm" in beside[beside.index("Open findings") :].lower()
    assert 'data-key="Escape" href="?q=T-1"' in beside


def test_a_tag_stands_beside_the_list_with_what_is_installed(plant, signed_in):
    page = signed_in("technician").get("/tags/?peek=TIC-120").content.decode()
    beside = page[page.index('id="peek"') :]
    assert "SA1202" in beside
    assert 'href="/panel/TIC-120/"' in beside


@pytest.mark.parametrize("address", ["/loops/?", "/tags/?"])
@pytest.mark.parametrize("query", ["", "area={area}&sort=area", "q=-1&last=1", "q=temperature"])
def test_the_number_of_queries_does_not_grow_with_the_plant(person, signed_in, address, query):
    factories.many_loops(3, by=person("planner"))
    client, area = signed_in("planner"), factories.area("Works / Kiln 1").pk
    with CaptureQueriesContext(connection) as few:
        client.get(address + query.format(area=area))
    factories.many_loops(12, by=person("planner"), first=50)
    with CaptureQueriesContext(connection) as many:
        client.get(address + query.format(area=area))

    assert len(many) == len(few) <= 12


# Saved views


def test_a_list_is_saved_under_a_name_and_found_again(plant, signed_in):
    client = signed_in("auditor")
    answer = client.post("/views/save/loops/?severity=warning&column=area", {"name": "To be seen to"})
    assert answer.headers["Location"] == "/loops/?severity=warning&column=area"

    page = client.get(answer.headers["Location"])
    assert "To be seen to" in page.content.decode()
    assert str(page.context["bench"].view) == "To be seen to"
    assert 'href="/loops/?severity=warning&amp;column=area"' in client.get("/loops/").content.decode()
    assert "To be seen to" not in client.get("/tags/").content.decode()
    assert "To be seen to" not in signed_in("planner").get("/loops/").content.decode()


@pytest.mark.parametrize(("name", "said"), [("", "This field is required"), ("Mine", "You have a view of this name")])
def test_a_name_that_will_not_do_is_said_and_nothing_is_saved(person, signed_in, name, said):
    save_view("loops", "", name="Mine", shared=False, by=person("planner"))
    answer = signed_in("planner").post("/views/save/loops/?kind=trip", {"name": name, "shared": "on"})
    assert answer.status_code == 200
    assert said in answer.content.decode()
    assert [view.query for view in SavedView.objects.all()] == [""]


def test_planners_share_views_and_others_keep_theirs_to_themselves(person):
    save_view("loops", "kind=trip", name="Trips", shared=True, by=person("planner"))
    assert [str(view) for view in SavedView.objects.seen_by(person("technician"))] == ["Trips"]
    with pytest.raises(NotAllowed, match="share saved views with everyone"):
        save_view("loops", "kind=trip", name="Mine", shared=True, by=person("technician"))
    assert SavedView.objects.count() == 1


def test_a_view_is_changed_and_removed_by_its_owner(person, signed_in):
    view = save_view("loops", "kind=trip", name="Trips", shared=True, by=person("planner"))
    with pytest.raises(NotAllowed, match="a view of planner"):
        change_view(view, name="Others", shared=True, by=person("technician"))
    with pytest.raises(NotAllowed):
        remove_view(view, by=person("technician"))

    client = signed_in("planner")
    client.post(f"/views/{view.pk}/", {"name": "All trips"})
    view.refresh_from_db()
    assert (view.name, view.shared, view.query) == ("All trips", False, "kind=trip")
    assert signed_in("technician").get(f"/views/{view.pk}/").status_code == 404
    client.post(f"/views/{view.pk}/", {"remove": "yes"})
    assert not SavedView.objects.exists()


def test_an_administrator_removes_what_is_shared_and_nothing_else(person):
    mine = save_view("tags", "", name="Mine", shared=False, by=person("planner"))
    shared = save_view("tags", "", name="Ours", shared=True, by=person("planner"))
    with pytest.raises(NotAllowed):
        remove_view(mine, by=person("administrator"))
    remove_view(shared, by=person("administrator"))
    assert list(SavedView.objects.all()) == [mine]
    assert Tag.objects.count() == 0
