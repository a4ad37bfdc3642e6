from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from register.jobs import checking
from register.jobs.running import end_if_stopped, name_of, start
from register.models import Finding, Job
from register.services.concessions import grant_concession
from register.services.permissions import May
from register.web.changes import ChangeForm, change
from register.web.findings.charts import by_area
from register.web.findings.filters import FindingFilter
from register.web.findings.tables import FindingTable
from register.web.parts.lists import answer_list
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """What is wrong across the plant, errors first."""
    findings = Finding.objects.select_related("loop__area").by_urgency()
    chosen = FindingFilter(request.GET, queryset=findings)
    return answer_list(
        request,
        "findings/list.html",
        FindingTable(chosen.qs),
        name="findings",
        chosen=chosen,
        context=lambda: {"chart": by_area(chosen.qs)},
    )


@permitted(May.READ, post=May.EDIT_REGISTER)
def check(request: HttpRequest) -> HttpResponse:
    """Check the whole plant: a POST starts it, a GET shows how far it is."""
    if request.method == "POST":
        start(checking.check, by=request.user)
        return redirect("findings:check")
    if job := Job.objects.filter(kind=name_of(checking.check)).first():
        end_if_stopped(job)
    template = "findings/check_progress.html" if request.htmx else "findings/check.html"
    return render(request, template, {"job": job})


class ConcessionForm(ChangeForm):
    work_order = None
    until = forms.DateField(
        label=_("Until"),
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text=_("After this day the finding comes back."),
    )
    reference = forms.CharField(
        max_length=60, required=False, help_text=_("The risk assessment or document that permits it.")
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
        said=_("The finding at %(subject)s is set aside.") % {"subject": finding.subject},
        title=_("Concession for %(subject)s") % {"subject": finding.subject},
        finding=finding,
    )
