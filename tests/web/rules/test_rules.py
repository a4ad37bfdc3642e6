from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils.html import escape
from django.utils.text import capfirst

from register.models import Finding, RuleSetting
from register.plant import sketch
from register.rules.engine import all_rules
from register.services.concessions import grant_concession
from tests import factories

LIST = reverse("rules:list")
RULE = "remote-set-point-scaled-differently"
PAGE = reverse("rules:detail", args=[RULE])
SET = reverse("rules:set", args=[RULE])


@pytest.fixture
def fault(person):
    """T-102 reads its remote set point over another range than T-110 sends it."""
    factories.loop(
        sketch.cascade(source_range="0-250 degC", target_range="0-200 degC"),
        by=person("planner"),
        area="Works / Kiln 1",
    )
    return Finding.objects.get(rule=RULE)


def slugs(response) -> list[str]:
    return [row.record.rule.slug for row in response.context["table"].page.object_list]


def test_every_rule_is_listed_by_theme_with_its_source(db, signed_in):
    page = signed_in("auditor").get(LIST)
    assert sorted(slugs(page)) == sorted(all_rules())
    themes = [row.record.rule.theme for row in page.context["table"].page.object_list]
    assert themes == sorted(themes)
    assert "IEC 60751:2008" in page.content.decode()


def test_hits_are_counted_and_lead_to_the_findings(fault, signed_in):
    page = signed_in("auditor").get(LIST).content.decode()
    assert f'<a href="/findings/?rule={RULE}&amp;standing=open">1</a>' in page


def test_a_finding_set_aside_is_counted_apart(fault, person, signed_in):
    grant_concession(
        fault,
        reason="Replaced at the stop in June",
        until=fault.first_seen.date().replace(year=2099),
        reference="RA-12",
        by=person("planner"),
        seen_revision=1,
    )
    counts = signed_in("auditor").get(PAGE).context["counts"]
    assert (counts.open, counts.conceded) == (0, 1)


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("hits=yes", [RULE]),
        ("hits=yes&severity=advice", []),
        ("hits=yes&theme=set+point", [RULE]),
        ("hits=yes&theme=no+such+theme", [RULE]),
    ],
)
def test_filters_narrow_the_list(fault, signed_in, query, expected):
    found = slugs(signed_in("auditor").get(f"{LIST}?{query}"))
    assert [slug for slug in found if slug == RULE] == expected


@pytest.mark.parametrize("sort", ["slug", "title", "theme", "severity", "open"])
def test_each_column_sorts_both_ways(fault, signed_in, sort):
    up = slugs(signed_in("auditor").get(f"{LIST}?sort={sort}"))
    down = slugs(signed_in("auditor").get(f"{LIST}?sort=-{sort}"))
    assert sorted(up) == sorted(down)
    assert up != down


@pytest.mark.parametrize("slug", all_rules())
def test_every_rule_has_its_page_with_an_example_that_is_flagged(slug, db, signed_in):
    page = signed_in("auditor").get(reverse("rules:detail", args=[slug]))
    assert page.status_code == 200
    assert page.context["verdicts"]
    text = page.content.decode()
    assert escape(capfirst(all_rules()[slug].remedy)) in text
    for shown in (page.context["wrong"], page.context["right"]):
        assert shown.startswith("<svg")
        assert shown in text


def test_a_rule_that_is_not_there_is_not_found(db, signed_in):
    assert signed_in("auditor").get(reverse("rules:detail", args=["no-such-rule"])).status_code == 404


def test_an_administrator_widens_the_tolerance_for_an_area_and_the_finding_goes(fault, person, signed_in):
    response = signed_in("administrator").post(
        SET,
        {"area": fault.loop.area.pk, "tolerance": "30", "reason": "Scaled in the master, see RA-12"},
    )
    assert response.headers["Location"] == PAGE
    setting = RuleSetting.objects.get()
    assert (setting.area.name, setting.tolerance, setting.by) == ("Kiln 1", Decimal(30), person("administrator"))
    assert not Finding.objects.counted().filter(rule=RULE).exists()
    assert "Tolerance 30 % of span in Works / Kiln 1" in signed_in("auditor").get(PAGE).content.decode()


def test_a_rule_switched_off_says_so_in_the_list_and_comes_back_when_the_setting_is_removed(fault, signed_in):
    client = signed_in("administrator")
    client.post(SET, {"off": "on", "reason": "No cascade here is in use"})
    assert not Finding.objects.open().filter(rule=RULE).exists()
    assert "off in the whole plant" in client.get(LIST).content.decode()
    unset = reverse("rules:unset", args=[RULE, RuleSetting.objects.get().pk])
    assert "No cascade here is in use" in client.get(unset).content.decode()
    client.post(unset)
    assert Finding.objects.open().filter(rule=RULE).count() == 1
    assert not RuleSetting.objects.in_force().exists()


def test_a_standing_setting_is_shown_for_change(fault, signed_in):
    client = signed_in("administrator")
    area = fault.loop.area.pk
    client.post(SET, {"area": area, "tolerance": "0,5", "reason": "Agreed"})
    form = client.get(f"{SET}?area={area}").context["form"]
    assert form.initial == {"area": fault.loop.area, "tolerance": Decimal("0.5"), "off": False, "reason": "Agreed"}
    assert client.get(f"{SET}?area=").context["form"].initial == {}


@pytest.mark.parametrize(
    ("typed", "field", "complaint"),
    [
        ({"reason": "x"}, "__all__", "Give a tolerance, or switch the rule off"),
        ({"off": "on"}, "reason", "This field is required."),
        ({"tolerance": "-1", "reason": "x"}, "tolerance", "A tolerance cannot be negative."),
        ({"tolerance": "wide", "reason": "x"}, "tolerance", "Write it as 12.5."),
        ({"area": "999999", "off": "on", "reason": "x"}, "area", "Select a valid choice."),
    ],
)
def test_a_wrong_setting_is_refused_with_what_was_typed(fault, signed_in, typed, field, complaint):
    response = signed_in("administrator").post(SET, typed)
    assert response.status_code == 200
    assert complaint in response.context["form"].errors[field][0]
    assert response.context["form"].data["reason" if "reason" in typed else "off"]
    assert not RuleSetting.objects.in_force().exists()


def test_a_rule_without_a_tolerance_asks_for_none(db, signed_in):
    form = signed_in("administrator").get(reverse("rules:set", args=["board-not-taken-by-bay"])).context["form"]
    assert list(form.fields) == ["area", "off", "reason"]


def test_queries_do_not_grow_with_the_findings(fault, person, signed_in, django_assert_num_queries):
    client = signed_in("auditor")
    with django_assert_num_queries(5):
        client.get(LIST)
    factories.many_loops(4, by=person("planner"), first=300)
    with django_assert_num_queries(5):
        client.get(LIST)
