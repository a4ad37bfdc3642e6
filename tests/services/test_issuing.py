"""Who may issue which revision of a sheet, and that what was issued stays as it was."""

import pytest

from register.models import IssueState, Loop, SheetIssue, User, UserRole
from register.plant import sketch
from register.services.editing import edit_loop
from register.services.issuing import approve_issue, check_issue, draft_issue
from register.services.permissions import NotAllowed
from register.services.recording import Refused
from tests import factories


@pytest.fixture
def loop(person) -> Loop:
    return factories.loop(sketch.temperature_loop("101"), by=person("planner"))


@pytest.fixture
def second_planner(db) -> User:
    return User.objects.create(username="second", first_name="Ines", last_name="Moor", role=UserRole.PLANNER)


def drawn(issue: SheetIssue) -> bytes:
    return f"{issue.revision.number}: {issue.drafted_by}, {issue.checked_by}, {issue.approved_by}".encode()


def change(loop: Loop, service: str, by: User) -> None:
    loop.refresh_from_db()
    edit_loop(loop, {"service": service}, by=by, seen_revision=loop.revision, reason="Renamed")


def issued(loop: Loop, person, second: User) -> SheetIssue:
    issue = draft_issue(loop, by=person("planner"))
    check_issue(issue, by=person("technician"))
    return approve_issue(issue, by=second, render=drawn)


def test_three_people_issue_a_sheet_and_its_bytes_are_kept(loop, person, second_planner):
    issue = issued(loop, person, second_planner)
    issue.refresh_from_db()
    assert (issue.number, issue.state, issue.exception) == (1, IssueState.APPROVED, "")
    assert bytes(issue.sheet) == b"1: planner, technician, second"
    # FIPS 180-4, by coreutils' sha256sum of those bytes
    assert issue.sheet_sha256 == "9518b9d12d415b3a4083fa6ae5a612bacf1aeb0086ac7994e296e396f415e2b0"


def test_whoever_drafted_checks_only_for_a_stated_reason(loop, person):
    issue = draft_issue(loop, by=person("planner"))
    with pytest.raises(Refused, match="say why you do both") as refused:
        check_issue(issue, by=person("planner"), exception="  ")
    assert refused.value.field == "exception"
    check_issue(issue, by=person("planner"), exception="Alone on night shift")
    issue.refresh_from_db()
    assert issue.exception == "checked by planner, who had done another part of it: Alone on night shift"


@pytest.mark.parametrize("part", ["planner", "administrator"])
def test_whoever_drafted_or_checked_approves_only_for_a_stated_reason(loop, person, part):
    issue = draft_issue(loop, by=person("planner"))
    check_issue(issue, by=person("administrator"))
    with pytest.raises(Refused):
        approve_issue(issue, by=person(part), render=drawn)
    assert approve_issue(issue, by=person(part), render=drawn, exception="Nobody else").state == "approved"


def test_a_reason_is_not_kept_where_three_people_did_it(loop, person):
    issue = draft_issue(loop, by=person("planner"))
    check_issue(issue, by=person("technician"), exception="for good measure")
    issue.refresh_from_db()
    assert issue.exception == ""


def test_a_change_after_the_draft_must_be_drafted_again(loop, person, second_planner):
    issue = draft_issue(loop, by=person("planner"))
    change(loop, "Steep water", person("planner"))
    with pytest.raises(Refused, match="Draft revision 2, and have that checked"):
        check_issue(issue, by=person("technician"))
    again = draft_issue(loop, by=person("planner"))
    assert (again.pk, again.number, again.revision.number) == (issue.pk, 1, 2)


def test_a_change_after_the_check_takes_the_check_away(loop, person, second_planner):
    issue = draft_issue(loop, by=person("planner"))
    check_issue(issue, by=person("technician"))
    change(loop, "Steep water", person("planner"))
    with pytest.raises(Refused, match="was changed since revision 1 was drafted"):
        approve_issue(issue, by=second_planner, render=drawn)
    again = draft_issue(loop, by=person("planner"))
    assert (again.state, again.checked_by) == (IssueState.DRAFTED, None)


def test_a_superseded_issue_stays_as_it_was(loop, person, second_planner):
    first = issued(loop, person, second_planner)
    change(loop, "Steep water", person("planner"))
    second = issued(loop, person, second_planner)
    first.refresh_from_db()
    assert (first.number, bytes(first.sheet)) == (1, b"1: planner, technician, second")
    assert (second.number, second.sheet) == (2, b"2: planner, technician, second")


def test_what_is_issued_cannot_be_issued_again(loop, person, second_planner):
    issued(loop, person, second_planner)
    with pytest.raises(Refused, match="Revision 1 is issued already"):
        draft_issue(loop, by=person("planner"))


def test_parts_are_done_in_their_order(loop, person, second_planner):
    issue = draft_issue(loop, by=person("planner"))
    with pytest.raises(Refused, match="is drafted already"):
        approve_issue(issue, by=second_planner, render=drawn)
    check_issue(issue, by=person("technician"))
    with pytest.raises(Refused, match="is checked already"):
        check_issue(issue, by=second_planner)


def test_an_issue_whose_sheet_cannot_be_drawn_is_not_approved(loop, person, second_planner):
    issue = draft_issue(loop, by=person("planner"))
    check_issue(issue, by=person("technician"))
    with pytest.raises(ZeroDivisionError):
        approve_issue(issue, by=second_planner, render=lambda issue: bytes(1 // 0))
    issue.refresh_from_db()
    assert issue.state == IssueState.CHECKED


def test_roles_hold(loop, person):
    with pytest.raises(NotAllowed):
        draft_issue(loop, by=person("auditor"))
    issue = draft_issue(loop, by=person("technician"))
    with pytest.raises(NotAllowed):
        check_issue(issue, by=person("auditor"))
    check_issue(issue, by=person("planner"))
    with pytest.raises(NotAllowed, match="approve loop sheets"):
        approve_issue(issue, by=person("technician"), render=drawn, exception="x")
