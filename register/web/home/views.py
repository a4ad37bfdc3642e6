"""The first page: what the person's role comes for, then every page that it opens."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from register.models import Concession, Finding, ImportRun, Revision, SwapDraft, Tag, UserRole
from register.models.loops import SOON
from register.services.permissions import May
from register.web.audit.forms import ScopeForm
from register.web.findings.charts import by_area, by_week
from register.web.navigation import destinations_for
from register.web.permissions import permitted
from register.web.recent import recent_tags

CHANGES_SHOWN = 8
DRAFTS_SHOWN = 5
IMPORTS_SHOWN = 3


@permitted(May.READ)
def home(request: HttpRequest) -> HttpResponse:
    gather = {UserRole.TECHNICIAN: at_the_panel, UserRole.AUDITOR: of_a_day}.get(request.user.role, across_the_plant)
    context = gather(request) | {"destinations": destinations_for(request.user)}
    return render(request, f"home/{gather.__name__}.html", context)


def across_the_plant(request: HttpRequest) -> dict[str, object]:
    """What a planner sorts out: findings and where they lie, what falls due, what changed."""
    now = timezone.now()
    today = timezone.localdate(now)
    standing = Finding.objects.counted().filter(unknown=False)
    tags = Tag.objects.calibrated()
    return {
        "counts": standing.count_by_severity(),
        "overdue": tags.overdue(today).count(),
        "soon": tags.due_soon(today).count(),
        "areas": by_area(standing),
        "trend": by_week(now),
        "imports": ImportRun.objects.select_related("by").only("name", "state", "at", "by")[:IMPORTS_SHOWN],
        "changes": Revision.objects.listed().select_related("loop").order_by("-at", "-pk")[:CHANGES_SHOWN],
    }


def at_the_panel(request: HttpRequest) -> dict[str, object]:
    """What a technician goes to: a tag by its name or label, work left unfinished, where they were last."""
    names = recent_tags(request)
    found = {tag.name: tag for tag in Tag.objects.in_service().filter(name__in=names).select_related("loop")}
    drafts = SwapDraft.objects.open().filter(by=request.user).select_related("tag__loop")
    return {
        "drafts": drafts[:DRAFTS_SHOWN],
        "recent": [found[name] for name in names if name in found],
        "mine": Revision.objects.listed().select_related("loop").filter(by=request.user).order_by("-at")[:DRAFTS_SHOWN],
    }


def of_a_day(request: HttpRequest) -> dict[str, object]:
    """What an auditor asks first: which day, which part of the plant."""
    today = timezone.localdate()
    permitted_now = Concession.objects.filter(ended_at__isnull=True)
    return {
        "form": ScopeForm(initial=ScopeForm.usual()),
        "counts": Finding.objects.counted().filter(unknown=False).count_by_severity(),
        "concessions": permitted_now.count(),
        "lapsing": permitted_now.filter(until__lte=today + SOON).count(),
    }
