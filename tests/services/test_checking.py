from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from register.models import Area, Concession, Finding, Loop, RuleSetting, Tag
from register.plant import sketch
from register.services import checking, editing
from register.services.concessions import end_concession, grant_concession
from register.services.recording import Refused
from register.services.rule_settings import set_rule, unset_rule
from register.services.what_if import what_if
from tests import factories

pytestmark = pytest.mark.django_db

TOMORROW = timedelta(days=1)


@pytest.fixture
def planner(person):
    return person("planner")


@pytest.fixture
def faulty(planner):
    """A loop whose alarm is out of reach: 280 °C on 0–250 °C."""
    value = sketch.with_alarm(
        sketch.temperature_loop(range_="0-250 degC"), "TIC-101", "Alarm 1", set_point=sketch.number(280)
    )
    return factories.loop(value, by=planner)


def set_alarm(loop, planner, set_point):
    loop.refresh_from_db()
    alarm = Tag.objects.get(name="TIC-101").alarms.get()
    return editing.save_alarm(
        alarm, {"set_point": Decimal(set_point)}, by=planner, seen_revision=loop.revision, reason="Alarm review"
    )


def test_a_finding_keeps_its_identity_while_its_numbers_change_and_clears_when_put_right(faulty, planner):
    first = faulty.findings.get()
    assert first.text == "Alarm 1 (high) is set to 280 °C, the range is 0–250 °C"

    set_alarm(faulty, planner, "290")
    again = faulty.findings.get()
    assert (again.pk, again.first_seen) == (first.pk, first.first_seen)
    assert "290 °C" in again.text

    set_alarm(faulty, planner, "230")
    faulty.refresh_from_db()
    cleared = faulty.findings.get()
    assert (cleared.cleared_revision, faulty.open_warnings) == (3, 0)
    assert cleared.first_revision == 1


def test_a_fault_that_returns_is_a_new_finding_beside_the_cleared_one(faulty, planner):
    set_alarm(faulty, planner, "230")
    set_alarm(faulty, planner, "280")

    assert faulty.findings.count() == 2
    assert faulty.findings.open().get().first_revision == 3


def test_checking_again_writes_no_finding(faulty):
    before = list(Finding.objects.values())

    assert list(checking.check_plant()) == [(1, 1)]

    assert list(Finding.objects.values()) == before


def test_a_concession_sets_a_finding_aside_until_its_facts_change(faulty, planner):
    concession = grant(faulty, planner)
    faulty.refresh_from_db()
    assert (faulty.open_warnings, faulty.findings.get().concession) == (0, concession)

    set_alarm(faulty, planner, "290")

    faulty.refresh_from_db()
    concession.refresh_from_db()
    assert concession.ended_because == "the facts changed"
    assert (faulty.open_warnings, faulty.findings.get().concession) == (1, None)


def test_a_concession_lapses_after_its_day(faulty, planner):
    concession = grant(faulty, planner)

    list(checking.check_plant(at=timezone.now() + 3 * TOMORROW))

    concession.refresh_from_db()
    faulty.refresh_from_db()
    assert concession.ended_because.startswith("it lapsed on")
    assert faulty.open_warnings == 1


def test_a_concession_can_be_withdrawn(faulty, planner):
    end_concession(grant(faulty, planner), reason="the risk was reassessed", by=planner)

    faulty.refresh_from_db()
    assert faulty.open_warnings == 1


def test_a_concession_ends_when_what_it_permits_is_put_right(faulty, planner):
    grant(faulty, planner)

    set_alarm(faulty, planner, "230")

    assert Concession.objects.get().ended_because == "the finding it permitted is gone"


def test_a_concession_that_has_lapsed_already_is_refused(faulty, planner):
    with pytest.raises(Refused, match="Give a day to come"):
        grant(faulty, planner, until=timezone.localdate())

    assert not Concession.objects.exists()


def grant(loop, planner, until=None):
    return grant_concession(
        loop.findings.open().get(),
        reason="Range is changed at the next shutdown",
        until=until or timezone.localdate() + TOMORROW,
        reference="RA-17",
        by=planner,
        seen_revision=loop.revision,
    )


def test_what_if_tells_what_would_clear_and_changes_nothing(faulty, planner):
    preview = what_if(lambda: set_alarm(faulty, planner, "230"))

    assert [one.rule for one in preview.clear] == ["alarm-outside-range"]
    assert preview.appear == []
    faulty.refresh_from_db()
    assert (faulty.revision, faulty.open_warnings) == (1, 1)


def test_a_rule_switched_off_for_an_area_says_nothing_there_and_speaks_again_when_put_back(faulty, planner, person):
    elsewhere = factories.loop(
        sketch.with_alarm(sketch.temperature_loop("105"), "TIC-105", "Alarm 1", set_point=sketch.number(900)),
        by=planner,
        area="Works / Kiln 1",
    )
    administrator = person("administrator")
    boilers = Area.objects.get(path="Works / Boiler house")

    set_rule("alarm-outside-range", area=boilers, off=True, tolerance=None, reason="Under review", by=administrator)
    assert counts() == {faulty.number: 0, elsewhere.number: 1}

    unset_rule("alarm-outside-range", area=boilers, by=administrator)
    assert counts() == {faulty.number: 1, elsewhere.number: 1}


def test_a_plants_own_tolerance_decides(planner, person):
    value = sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", range=sketch.span("0-10.05 bar (gauge)"))
    loop = factories.loop(value, by=planner)
    assert loop.open_errors == 1

    set_rule(
        "ends-scaled-differently",
        area=None,
        off=False,
        tolerance=Decimal("0.5"),
        reason="Old transmitters",
        by=person("administrator"),
    )

    loop.refresh_from_db()
    assert loop.open_errors == 0


def counts():
    return dict(Loop.objects.values_list("number", "open_warnings"))


def test_a_setting_that_no_longer_holds_is_kept_with_who_ended_it(person):
    administrator = person("administrator")
    for reason in ("Under review", "Still under review"):
        set_rule("alarm-outside-range", area=None, off=True, tolerance=None, reason=reason, by=administrator)
    unset_rule("alarm-outside-range", area=None, by=administrator)

    assert not RuleSetting.objects.in_force().exists()
    assert [(one.reason, one.ended_by) for one in RuleSetting.objects.past()] == [
        ("Still under review", administrator),
        ("Under review", administrator),
    ]
