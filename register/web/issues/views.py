"""Issues of a loop's sheet: who drafted, checked and approved which revision, and what changed since the last."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from register.models import IssueState, Loop, SheetIssue
from register.plant.diff import Change, changes
from register.services.issuing import approve_issue, check_issue, draft_issue
from register.services.permissions import May
from register.services.recording import Refused
from register.sheets.standing import issued_sheet
from register.web.issues.forms import PartForm
from register.web.issues.tables import IssueTable
from register.web.parts.lists import answer_list
from register.web.permissions import permitted
from register.web.sheets.views import inline_pdf, look


@permitted(May.READ)
def listing(request: HttpRequest, number: str) -> HttpResponse:
    return _page(request, get_object_or_404(Loop, number=number), PartForm())


@permitted(May.CHECK_SHEETS)
def draft(request: HttpRequest, number: str) -> HttpResponse:
    loop = get_object_or_404(Loop, number=number)
    return _part(request, loop, lambda exception: draft_issue(loop, by=request.user), "The issue was drafted.")


@permitted(May.CHECK_SHEETS)
def check(request: HttpRequest, number: str) -> HttpResponse:
    loop = get_object_or_404(Loop, number=number)

    def write(exception: str) -> None:
        check_issue(_under_way(loop), by=request.user, exception=exception)

    return _part(request, loop, write, "The issue was checked.")


@permitted(May.APPROVE_SHEETS)
def approve(request: HttpRequest, number: str) -> HttpResponse:
    loop = get_object_or_404(Loop, number=number)
    page = look(request)

    def write(exception: str) -> None:
        approve_issue(
            _under_way(loop), by=request.user, exception=exception, render=lambda issue: issued_sheet(issue, page)
        )

    return _part(request, loop, write, "The issue was approved. Its sheet is kept for ever.")


@permitted(May.READ)
def pdf(request: HttpRequest, number: str, issue: int) -> HttpResponse:
    """The very bytes that were approved."""
    row = get_object_or_404(SheetIssue.objects.approved(), loop__number=number, number=issue)
    return inline_pdf(bytes(row.sheet), f"{number} issue {issue}.pdf")


def _part(request: HttpRequest, loop: Loop, write: Callable[[str], object], said: str) -> HttpResponse:
    """Do one part of an issue, or say why not; whoever only looks at the address is led to the issues."""
    if request.method != "POST":
        return redirect("issues:list", loop.number)
    form = PartForm(request.POST)
    if form.is_valid():
        try:
            write(form.cleaned_data["exception"])
            messages.success(request, said)
            return redirect("issues:list", loop.number)
        except Refused as refusal:
            form.add_error(refusal.field or None, str(refusal))
    loop.refresh_from_db()
    return _page(request, loop, form)


def _under_way(loop: Loop) -> SheetIssue:
    issue = loop.issues.under_way().first()
    if issue is None:
        raise Refused("No issue is under way: draft one first.")
    return issue


NEXT = {None: "draft", IssueState.APPROVED: "draft", IssueState.DRAFTED: "check", IssueState.CHECKED: "approve"}
NEEDS = {"draft": May.CHECK_SHEETS, "check": May.CHECK_SHEETS, "approve": May.APPROVE_SHEETS}


def _page(request: HttpRequest, loop: Loop, form: PartForm) -> HttpResponse:
    issues = list(loop.issues.listed())
    latest = issues[0] if issues else None
    in_force = next((one for one in issues if one.state == IssueState.APPROVED), None)
    outdated = latest is not None and latest.revision.number != loop.revision
    part = "draft" if outdated else NEXT[latest.state if latest else None]
    table = IssueTable(issues)
    context = {
        "loop": loop,
        "form": form,
        "under_way": latest if latest and latest.state != IssueState.APPROVED else None,
        "in_force": in_force,
        "outdated": outdated,
        "part": part,
        "needs": NEEDS[part].name,
        "address": reverse(f"issues:{part}", args=[loop.number]),
        "nothing_to_issue": part == "draft" and latest is not None and not outdated,
        "changes": _changed_since(in_force, loop),
    }
    name = f"issues of {loop.number}"
    return answer_list(request, "issues/list.html", table, name=name, context=context)


def _changed_since(issue: SheetIssue | None, loop: Loop) -> tuple[Change, ...]:
    """What the loop's latest revision says otherwise than the issue in force."""
    if issue is None or issue.revision.number == loop.revision:
        return ()
    old = loop.revisions.get(number=issue.revision.number)
    new = loop.revisions.get(number=loop.revision)
    return changes(old.loop_value(), new.loop_value())
