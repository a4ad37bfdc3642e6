import pytest
from django.urls import reverse

from register.models import Asset, CatalogueModel, Tag
from register.services.catalogue import add_model, correct_model
from tests import factories

LIST = reverse("obsolescence:list")


@pytest.fixture
def planner(person):
    return person("planner")


@pytest.fixture
def plant(planner):
    """Four loops of four criticalities over three areas; two of them have the probe, which is no longer made."""
    loops = factories.many_loops(4, by=planner)
    old = CatalogueModel.objects.get(name="Probe pt100")
    facts = {one.name: getattr(old, one.name) for one in old._meta.concrete_fields} | {"name": "Probe 2"}
    del facts["id"], facts["revision"]
    new = add_model(facts, copy_of=old, by=planner, reason="New type")
    correct_model(old, {"obsolete": True, "successor": new}, by=planner, reason="Letter of the maker")
    return loops


def rows(page) -> list:
    return [row.record for row in page.context["table"].page.object_list]


def test_each_model_counts_its_loops_by_criticality(plant, signed_in):
    page = signed_in("auditor").get(LIST)
    (row,) = rows(page)
    assert row.name == "Quarrymoor Probe pt100"
    assert dict(row.by_criticality) == {"safety": 1, "production": 1}
    assert row.loops == 2
    assert page.context["totals"] == {"models": 1, "loops": 2, "without_spare": 1}


def test_what_would_fit_is_judged_at_the_most_critical_tag(plant, signed_in):
    page = signed_in("auditor").get(LIST)
    (row,) = rows(page)
    assert row.tag == "TE-101"
    assert str(row.best.row) == "Quarrymoor Probe 2"
    assert "nothing would be wrong at TE-101" in page.content.decode()


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("criticality=safety", 1),
        ("criticality=routine", 0),
        ("kind=sensor", 1),
        ("kind=controller", 0),
        ("spares=none", 1),
        ("spares=some", 0),
        ("successor=some", 1),
        ("successor=none", 0),
        ("q=probe", 1),
        ("q=globe", 0),
    ],
)
def test_filters_narrow_the_list(plant, signed_in, query, found):
    assert len(rows(signed_in("auditor").get(f"{LIST}?{query}"))) == found


def test_an_area_narrows_the_loops_that_count(plant, signed_in):
    page = signed_in("auditor").get(f"{LIST}?area={plant[0].area_id}")
    assert [row.loops for row in rows(page)] == [1]


def test_a_model_that_is_only_specified_where_another_stands_holds_nothing_up(plant, signed_in, planner):
    new = CatalogueModel.objects.get(name="Probe 2")
    tag = Tag.objects.get(name="TE-101")
    Asset.objects.filter(installations__tag=tag).update(model=new)
    (row,) = rows(signed_in("auditor").get(LIST))
    assert row.loops == 1


def test_a_board_that_is_no_longer_made_holds_up_the_loop_of_its_controller(plant, signed_in, planner):
    board = CatalogueModel.objects.get(name="Relay board")
    correct_model(board, {"obsolete": True}, by=planner, reason="Letter of the maker")
    found = {row.name: row for row in rows(signed_in("auditor").get(LIST))}
    assert found["Fennel Row Relay board"].loops == 4
    assert found["Fennel Row Relay board"].best is None, "no other board of the family is made"


def test_a_substitute_is_judged_at_every_tag_of_the_page(plant, signed_in):
    old = CatalogueModel.objects.get(name="Probe pt100")
    page = signed_in("auditor").get(reverse("obsolescence:detail", args=[old.pk]))
    first = page.context["substitutes"][0]
    assert (str(first.row), first.is_successor, first.sound_at) == ("Quarrymoor Probe 2", True, ["TE-101", "TE-103"])


def test_queries_do_not_grow_with_the_loops_or_the_models(plant, signed_in, planner, django_assert_num_queries):
    client = signed_in("auditor")
    old = CatalogueModel.objects.get(name="Probe pt100")
    addresses = {LIST: 36, reverse("obsolescence:detail", args=[old.pk]): 36}
    for address, queries in addresses.items():
        with django_assert_num_queries(queries):
            client.get(address)
    factories.many_loops(6, by=planner, first=20)
    correct_model(CatalogueModel.objects.get(name="Globe 40"), {"obsolete": True}, by=planner, reason="x")
    for address, queries in addresses.items():
        with django_assert_num_queries(queries):
            client.get(address)
