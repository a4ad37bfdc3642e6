from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django_tables2 import RequestConfig

from register.models import Finding
from register.services.concessions import grant_concession
from register.services.permissions import May
from register.web.changes import ChangeForm, change
from register.web.findings.filters import FindingFilter
from register.web.findings.tables import FindingTable
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """What is wrong across the plant, errors first."""
    findings = Finding.objects.select_related("loop__area").by_urgency()
    chosen = FindingFilter(request.GET, queryset=findings)
    table = FindingTable(chosen.qs)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    context = {"filter": chosen, "table": table, "by_area": chosen.qs.count_by_area()}
    return render(request, "findings/list.html", context)


class ConcessionForm(ChangeForm):
    work_order = None
    until = forms.DateField(
        label="Until",
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="After this day the finding comes back.",
    )
    reference = forms.CharField(
        max_length=60, required=False, help_text="The risk assessment or document that permits it."
    )


@permitted(May.GRANT_CONCESSIONS)
def concede(request: HttpRequest, pk: int) -> HttpResponse:
    """Set one finding aside, signed and dated."""
    finding = get_object_or_404(Finding.objects.select_related("loop"), pk=pk)
    form = ConcessionForm(request.POST or None, initial={"seen_revision": finding.loop.revision})

    def write() -> None:
        grant_concession(finding, by=request.user, **form.cleaned_data)

    return change(
        request,
        form,
        write,
        loop=finding.loop,
        done=lambda: reverse("loops:detail", args=[finding.loop.number]),
        back=reverse("loops:detail", args=[finding.loop.number]),
        said=f"The finding at {finding.subject} is set aside.",
        title=f"Concession for {finding.subject}",
        finding=finding,
    )
