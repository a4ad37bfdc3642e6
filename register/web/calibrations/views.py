"""What is due for calibration, the form that records one, and what each one said."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _

from register.calc.calibration import due_on
from register.exchange.dcc import GREATEST_FILE, NotACertificate, read_certificate
from register.loading import load_loop
from register.models import Calibration, CalibrationPoint, PlantSettings, Tag
from register.models.calibrations import drift_since, last_good_before, outcome
from register.models.reach import LoopReached, when_tag_fails
from register.plant import values
from register.plant.cautions import cautions_for
from register.plant.check_points import NothingToCheck, check_of
from register.services.calibrating import record_calibration
from register.services.permissions import May, may
from register.sheets.certificate import Account, account_of, render_certificate
from register.web.calibrations.filters import DueFilter
from register.web.calibrations.forms import CalibrationForm, DigitalCertificateForm, first_filled_in, percents_of
from register.web.calibrations.proposals import Proposal, propose
from register.web.calibrations.tables import DueTable
from register.web.changes import change
from register.web.parts.charts import LineChart, Series, line_chart
from register.web.parts.lists import answer_list
from register.web.permissions import permitted


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """What is due, the most urgent first."""
    today = timezone.localdate()
    chosen = DueFilter(request.GET, queryset=Tag.objects.calibrated())
    table = DueTable(chosen.qs.by_due_date(), today=today, may_record=may(request.user, May.RECORD_WORK))
    overdue = chosen.qs.overdue(today).count()
    context = {"overdue": overdue}
    name = "calibrations due"
    return answer_list(request, "calibrations/list.html", table, name=name, chosen=chosen, context=context)


@permitted(May.RECORD_WORK)
def record(request: HttpRequest, name: str) -> HttpResponse:
    """Record a calibration at a tag."""
    tag = get_object_or_404(Tag.objects.select_related("loop"), name=name, retired_on__isnull=True)
    loop = load_loop(tag.loop.number, today=timezone.localdate())
    try:
        upload, proposal = _proposal(request, loop, loop.tag(name))
        percents = proposal.percents if proposal else percents_of(request.POST.get("percents", ""))
        check = check_of(loop, loop.tag(name), percents)
    except NothingToCheck as reason:
        return render(request, "calibrations/nothing_to_check.html", {"tag": tag, "reason": reason})
    initial = {"seen_revision": tag.loop.revision, "by_whom": request.user.display_name, "reason": "Calibration"}
    initial |= first_filled_in(tag.calibrations.first()) | (proposal.initial if proposal else {})
    typed = None if upload.is_bound else request.POST or None
    form = CalibrationForm(typed, check=check, initial=initial)
    made: list[Calibration] = []

    def write() -> None:
        made[:] = [record_calibration(tag, by=request.user, **form.record)]

    return change(
        request,
        form,
        write,
        loop=tag.loop,
        done=lambda: reverse("calibrations:detail", args=[made[0].pk]),
        back=reverse("tags:detail", args=[name]),
        said=_("The calibration of %(name)s is recorded.") % {"name": name},
        title=_("Calibrate %(name)s") % {"name": name},
        template="calibrations/record.html",
        tag=loop.tag(name),
        check=check,
        upload=upload,
        proposal=proposal,
        cautions=cautions_for(loop, [loop.tag(name)]),
    )


def _proposal(
    request: HttpRequest, loop: values.Loop, tag: values.Tag
) -> tuple[DigitalCertificateForm, Proposal | None]:
    """The form that takes a laboratory's certificate, and what the one that was sent proposes."""
    if "read" not in request.POST:
        return DigitalCertificateForm(), None
    upload = DigitalCertificateForm(request.POST, request.FILES)
    if not upload.is_valid():
        return upload, None
    try:
        read = read_certificate(upload.cleaned_data["digital_certificate"].read(GREATEST_FILE + 1))
        return upload, propose(read, loop, tag)
    except NotACertificate as fault:
        upload.add_error("digital_certificate", str(fault))
        return upload, None


@permitted(May.READ)
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One calibration: its errors, what they mean, and how it stands among the earlier ones."""
    calibration = get_object_or_404(Calibration.objects.select_related("tag__loop", "asset__model"), pk=pk)
    tag = calibration.tag
    past = list(tag.calibrations.filter(on__lte=calibration.on).order_by("on", "pk").prefetch_related("readings"))
    readings = list(past[-1].readings.all())
    account = account_of(calibration, readings)
    months = tag.calibration_interval_months
    context = {
        "calibration": calibration,
        "tag": tag,
        "account": account,
        "certified": _certifiable(calibration, readings),
        "adjusted": any(row.as_left.reading for row in account.rows),
        "due": due_on(calibration.on, months) if months else None,
        "drift": drift_since(past[-2].readings.all(), readings) if len(past) > 1 else None,
        "chart": _drift_chart(past) if len(past) > 1 else None,
        "others": tag.calibrations.exclude(pk=pk),
        "affected": _affected(calibration, account),
    }
    return render(request, "calibrations/detail.html", context)


def _certifiable(calibration: Calibration, readings: list[CalibrationPoint]) -> bool:
    """Whether it was recorded here, point by point: of a bare result there is nothing to certify."""
    return bool(calibration.recorded_at and readings)


@permitted(May.READ)
def certificate(request: HttpRequest, pk: int) -> HttpResponse:
    """The certificate of one calibration, to be printed or sent."""
    calibration = get_object_or_404(Calibration.objects.select_related("tag__loop", "asset__model"), pk=pk)
    readings = list(calibration.readings.all())
    if not _certifiable(calibration, readings):
        raise Http404("No readings are recorded of this calibration, so there is no certificate of it.")
    tag, plant = calibration.tag, PlantSettings.objects.first() or PlantSettings()
    months = tag.calibration_interval_months
    content = render_certificate(
        calibration,
        readings,
        revision=tag.loop.revisions.select_related("by").as_on(calibration.recorded_at).first(),
        due=due_on(calibration.on, months) if months else None,
        plant_name=plant.name,
        letter_paper=plant.paper in ("Letter", "Tabloid"),
        live_url=request.build_absolute_uri(reverse("calibrations:detail", args=[pk])),
    )
    disposition = content_disposition_header(as_attachment=False, filename=f"{tag} {calibration.on}.pdf")
    return HttpResponse(content, content_type="application/pdf", headers={"Content-Disposition": disposition})


@dataclass(frozen=True)
class Affected:
    """What worked with an instrument that was found out of tolerance, and since when it may have been."""

    since: date | None
    good: Calibration | None
    loops: list[LoopReached]


def _affected(calibration: Calibration, account: Account) -> Affected | None:
    """None where it was found within its tolerance, or nothing was recorded as found."""
    if account.as_found is None or account.as_found.passed:
        return None
    good = last_good_before(calibration)
    installed = calibration.tag.installations.on(calibration.on).first()
    since = max((day for day in (good and good.on, installed and installed.from_date) if day), default=None)
    return Affected(since, good, when_tag_fails(calibration.tag))


def _drift_chart(past: list[Calibration]) -> LineChart:
    """The worst errors as found and as left of each calibration, between the limits of its tolerance."""

    def worst(one: Calibration, state: str, readings: list[CalibrationPoint]):
        found = outcome(one, readings, state)
        return found.worst_percent if found else None

    found = [worst(one, "as_found", list(one.readings.all())) for one in past]
    left = [
        one.worst_error_percent if (of := worst(one, "as_left", list(one.readings.all()))) is None else of
        for one in past
    ]
    limits = [one.tolerance_percent for one in past]
    return line_chart(
        "Worst error over the calibrations, % of span",
        [f"{one.on:%Y-%m-%d}" for one in past],
        [
            Series("As found", found),
            Series("As left", left, "advice"),
            Series("Tolerance above", limits, "unknown"),
            Series("Tolerance below", [None if one is None else -one for one in limits], "unknown"),
        ],
        heading=_("Calibrated"),
    )
