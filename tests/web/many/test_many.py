import pytest
from django.urls import reverse

from register.models import BulkEdit, Loop, Tag
from tests import factories

CHANGE = reverse("many:edit", args=["loops"])


@pytest.fixture
def plant(person):
    return factories.many_loops(4, by=person("planner"))


def form_of(page, **typed) -> dict:
    return {"seen_revision": page.context["form"]["seen_revision"].value(), "reason": "Study"} | typed


def test_the_lists_offer_boxes_and_the_change_to_planners_alone(plant, signed_in):
    for kind in ("loops", "tags", "assets"):
        address = reverse(f"{kind}:list")
        offered = signed_in("planner").get(address).content.decode()
        assert 'name="pick"' in offered
        assert reverse("many:edit", args=[kind]) in offered
        kept = signed_in("auditor").get(address).content.decode()
        assert 'name="pick"' not in kept
        assert reverse("many:edit", args=[kind]) not in kept


def test_all_that_match_the_filter_are_changed(plant, signed_in):
    client = signed_in("planner")
    address = f"{CHANGE}?all=1&area={plant[0].area_id}&change=criticality"
    page = client.get(address)
    assert [line.name for line in page.context["lines"]()] == ["P-104", "T-101"]

    dry = client.post(address, form_of(page, criticality="environment", preview="1"))
    assert [(line.old, line.new) for line in dry.context["lines"]()] == [
        ("routine", "environment"),
        ("safety", "environment"),
    ]
    assert "Nothing is saved yet." in dry.content.decode()
    assert Loop.objects.filter(criticality="environment").count() == 1

    done = client.post(address, form_of(page, criticality="environment"), follow=True)
    assert done.redirect_chain[-1][0] == reverse("many:detail", args=[BulkEdit.objects.get().pk])
    assert Loop.objects.filter(criticality="environment").count() == 3


def test_only_the_rows_that_were_ticked_are_changed(plant, signed_in):
    client = signed_in("planner")
    tag = Tag.objects.get(name="TIC-101")
    address = f"{reverse('many:edit', args=['tags'])}?pick={tag.pk}&change=calibration_interval_months"
    page = client.get(address)
    assert client.post(address, form_of(page, calibration_interval_months="18")).status_code == 302
    assert list(Tag.objects.filter(calibration_interval_months=18)) == [tag]


def test_nothing_ticked_means_nothing_and_not_everything(plant, signed_in):
    page = signed_in("planner").get(CHANGE)
    assert "No loops are chosen" in page.content.decode()


def test_findings_that_would_come_are_shown_before_saving(plant, signed_in):
    client = signed_in("planner")
    address = f"{CHANGE}?all=1&change=required_accuracy"
    dry = client.post(address, form_of(client.get(address), required_accuracy="0.0001", preview="1"))
    assert dry.context["preview"].appear


def test_a_change_made_meanwhile_is_shown_and_what_was_typed_stays(plant, signed_in, person):
    client = signed_in("planner")
    address = f"{CHANGE}?all=1&change=service"
    page = client.get(address)
    second = client.get(address)
    client.post(address, form_of(second, service="Drying"))

    refused = client.post(address, form_of(page, service="Heating"))
    assert "changed while you were editing" in refused.content.decode()
    assert "T-101 revision 2" in refused.content.decode()
    assert refused.context["form"]["service"].value() == "Heating"
    assert client.post(address, form_of(refused, service="Heating")).status_code == 302
    assert set(Loop.objects.values_list("service", flat=True)) == {"Heating"}


def test_too_many_rows_are_refused_before_anything_is_loaded(plant, signed_in, monkeypatch):
    monkeypatch.setattr("register.services.many.MOST", 3)
    page = signed_in("planner").get(f"{CHANGE}?all=1&change=service")
    assert "More than 3 loops match" in page.content.decode()


def test_a_choice_that_was_tampered_with_is_refused(plant, signed_in):
    answer = signed_in("planner").post(f"{CHANGE}?change=service", {"seen_revision": "x:y", "reason": "x"})
    assert answer.status_code == 400


def test_a_whole_change_is_undone_from_its_page(plant, signed_in):
    client = signed_in("planner")
    before = dict(Loop.objects.values_list("number", "service"))
    address = f"{CHANGE}?all=1&change=service"
    client.post(address, form_of(client.get(address), service="Drying"))
    one = BulkEdit.objects.get()
    assert reverse("many:undo", args=[one.pk]) in client.get(reverse("many:detail", args=[one.pk])).content.decode()

    assert client.post(reverse("many:undo", args=[one.pk]), {"reason": "Wrong list"}).status_code == 302
    assert dict(Loop.objects.values_list("number", "service")) == before
    page = client.get(reverse("many:detail", args=[one.pk])).content.decode()
    assert "Wrong list" in page
    assert reverse("many:undo", args=[one.pk]) not in page
    assert "service of 4 loops" in client.get(reverse("many:list")).content.decode()


def test_queries_of_the_form_do_not_grow_with_the_rows(plant, signed_in, person, django_assert_num_queries):
    client = signed_in("planner")
    address = f"{CHANGE}?all=1&change=area"
    with django_assert_num_queries(7):
        client.get(address)
    factories.many_loops(4, by=person("planner"), first=50)
    with django_assert_num_queries(7):
        client.get(address)
