"""The sheets that wait to be issued, and whose turn it is."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from register.models import Loop
from register.services.permissions import May
from register.web.issuing.filters import WaitingFilter
from register.web.issuing.tables import WaitingTable
from register.web.parts.lists import answer_list
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    chosen = WaitingFilter(request.GET, queryset=Loop.objects.in_service().waiting_for_issue())
    table = WaitingTable(chosen.qs)
    return answer_list(request, "issuing/list.html", table, name="sheets to issue", chosen=chosen)
