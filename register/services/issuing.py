"""Issue a loop's sheet: drafted, checked and approved by three people, or by fewer for a stated reason."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from register.models import IssueState, Loop, SheetIssue, User
from register.services.permissions import May, require
from register.services.recording import Refused


def draft_issue(loop: Loop, *, by: User) -> SheetIssue:
    """Put the loop's latest revision forward as its next issue. One that is under way starts anew."""
    require(by, May.CHECK_SHEETS)
    with transaction.atomic():
        loop = Loop.objects.select_for_update().get(pk=loop.pk)
        revision = loop.revisions.filter(number=loop.revision).first()
        if revision is None:
            raise Refused(f"{loop.number} has no revision yet. Record a fact of it first.")
        approved = loop.issues.approved()
        if approved.filter(revision=revision).exists():
            raise Refused(f"Revision {revision.number} is issued already, and nothing was changed since.")
        facts = {
            "number": (approved.aggregate(last=Max("number"))["last"] or 0) + 1,
            "revision": revision,
            "state": IssueState.DRAFTED,
            "drafted_by": by,
            "drafted_at": timezone.now(),
            "checked_by": None,
            "checked_at": None,
            "exception": "",
        }
        under_way = loop.issues.under_way()
        return under_way.update_or_create(loop=loop, defaults=facts)[0]


def check_issue(issue: SheetIssue, *, by: User, exception: str = "") -> None:
    """Say that the drafted sheet agrees with the loop as it is."""
    require(by, May.CHECK_SHEETS)
    with transaction.atomic():
        issue = _under_way(issue, IssueState.DRAFTED)
        _keep_exception(issue, "checked", by, (issue.drafted_by,), exception)
        issue.state, issue.checked_by, issue.checked_at = IssueState.CHECKED, by, timezone.now()
        issue.save()


def approve_issue(
    issue: SheetIssue, *, by: User, render: Callable[[SheetIssue], bytes], exception: str = ""
) -> SheetIssue:
    """Approve the checked sheet. ``render`` draws it with all three names; its bytes are kept for ever."""
    require(by, May.APPROVE_SHEETS)
    with transaction.atomic():
        issue = _under_way(issue, IssueState.CHECKED)
        _keep_exception(issue, "approved", by, (issue.drafted_by, issue.checked_by), exception)
        issue.state, issue.approved_by, issue.approved_at = IssueState.APPROVED, by, timezone.now()
        issue.save()
        issue.sheet = render(issue)
        issue.sheet_sha256 = hashlib.sha256(issue.sheet).hexdigest()
        issue.save()
        return issue


def _under_way(issue: SheetIssue, state: IssueState) -> SheetIssue:
    """The issue, locked with its loop, if it is in the state and its revision is still the loop's latest."""
    loop = Loop.objects.select_for_update().get(pk=issue.loop_id)
    issue = SheetIssue.objects.select_related("loop", "revision", "drafted_by", "checked_by").get(pk=issue.pk)
    if issue.state != state:
        raise Refused(f"The issue is {issue.state} already: somebody was before you.")
    if issue.revision.number != loop.revision:
        raise Refused(
            f"{loop.number} was changed since revision {issue.revision.number} was drafted. "
            f"Draft revision {loop.revision}, and have that checked."
        )
    return issue


def _keep_exception(issue: SheetIssue, done: str, by: User, before: tuple[User, ...], exception: str) -> None:
    """Where somebody does more than one part the reason is required; where nobody does, none is kept."""
    if by not in before:
        return
    if not exception.strip():
        raise Refused(
            "You have done another part of this issue. Let somebody else do this one, or say why you do both.",
            field="exception",
        )
    said = f"{done} by {by.display_name}, who had done another part of it: {exception.strip()}"
    issue.exception = "; ".join(filter(None, (issue.exception, said)))
