"""A tag's page, and a view for each thing at it that can be changed."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from register.loading import load_loop
from register.models import Alarm, Finding, Link, Loop, Port, Settings, SettingsKind, Tag
from register.plant.cautions import cautions_for
from register.rules.engine import all_rules
from register.services import editing, fitting
from register.services.permissions import May, may, require
from register.web.changes import ConfirmForm, change
from register.web.loops.views import PEEKED_FINDINGS
from register.web.permissions import permitted
from register.web.recent import remember_tag
from register.web.tags import forms
from register.web.tags.listing import TAGS
from register.web.workbench.bench import answer_bench


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """Every tag in service, narrowed by the filters."""
    return answer_bench(request, "tags/list.html", TAGS, _peeked)


def _peeked(name: str) -> dict[str, object] | None:
    """What the list shows of the tag that is looked at beside it."""
    row = Tag.objects.with_installed().filter(name=name).first() if name else None
    if row is None:
        return None
    findings = list(Finding.objects.open().filter(loop=row.loop_id, subject=name).by_urgency()[: PEEKED_FINDINGS + 1])
    return {
        "row": row,
        "findings": findings[:PEEKED_FINDINGS],
        "more": len(findings) > PEEKED_FINDINGS,
        "links": Link.objects.of_tag(row),
    }


@permitted(May.READ)
def detail(request: HttpRequest, name: str) -> HttpResponse:
    """A tag: what it needs, what is fitted, and what is wrong with it."""
    row = get_object_or_404(Tag.objects.select_related("loop__area"), name=name)
    loop = load_loop(row.loop.number, today=timezone.localdate())
    findings = Finding.objects.open().filter(loop=row.loop, subject=name).by_urgency().select_related("concession__by")
    context = {
        "row": row,
        "loop": loop,
        "tag": loop.tag(name),
        "port_rows": {port.name: port for port in row.ports.all()},
        "alarm_rows": {alarm.name: alarm for alarm in row.alarms.all()},
        "connections": [one for one in loop.connections() if name in (one.source_tag.name, one.target_tag.name)],
        "link_rows": {str(link): link.pk for link in Link.objects.of_tag(row)},
        "findings": [(one, all_rules().get(one.rule)) for one in findings],
        "port_headings": PORT_HEADINGS if not may(request.user, May.EDIT_REGISTER) else (*PORT_HEADINGS, "Work"),
        "cautions": cautions_for(loop, [loop.tag(name)]),
        "installations": row.installations.select_related("asset__model"),
    }
    return remember_tag(request, render(request, "tags/detail.html", context), name)


PORT_HEADINGS = ("Port", "Direction", "Purpose", "Signal", "Range", "Bay", "Terminals")


def _tag(name: str) -> Tag:
    return get_object_or_404(Tag.objects.select_related("loop"), name=name, retired_on__isnull=True)


def _at_tag(
    request: HttpRequest, tag: Tag, form: Form, write: Callable[[], object], *, title: str, said: str
) -> HttpResponse:
    """Answer a form about one tag; when done, back to the tag's page under the name that it then has."""
    return change(
        request,
        form,
        write,
        loop=tag.loop,
        done=lambda: reverse("tags:detail", args=[tag.name]),
        back=reverse("tags:detail", args=[tag.name]),
        said=said,
        title=title,
    )


def _opened(tag: Tag) -> dict:
    return {"seen_revision": tag.loop.revision}


@permitted(May.EDIT_REGISTER)
def create(request: HttpRequest, number: str) -> HttpResponse:
    """Add a tag to a loop."""
    loop = get_object_or_404(Loop, number=number, retired_on__isnull=True)
    form = forms.TagForm(request.POST or None, instance=Tag(loop=loop), initial={"seen_revision": loop.revision})
    made: list[Tag] = []

    def write() -> None:
        made[:] = [editing.add_tag(loop, form.facts, by=request.user, **form.signature)]

    return change(
        request,
        form,
        write,
        loop=loop,
        done=lambda: reverse("tags:detail", args=[made[0].name]),
        back=reverse("loops:detail", args=[number]),
        said=_("The tag was added."),
        title=_("New tag in %(number)s") % {"number": number},
    )


@permitted(May.EDIT_REGISTER)
def edit(request: HttpRequest, name: str) -> HttpResponse:
    tag = _tag(name)
    form = forms.TagForm(request.POST or None, instance=_tag(name), initial=_opened(tag))

    def write() -> None:
        editing.edit_tag(tag, form.facts, by=request.user, work_order=form.cleaned_data["work_order"], **form.signature)

    return _at_tag(
        request,
        tag,
        form,
        write,
        title=_("Change %(name)s") % {"name": name},
        said=_("%(name)s was changed.") % {"name": name},
    )


@permitted(May.EDIT_REGISTER)
def retire(request: HttpRequest, name: str) -> HttpResponse:
    """Take a tag out of service; its history stays."""
    tag = _tag(name)
    form = ConfirmForm(request.POST or None, initial=_opened(tag))

    def write() -> None:
        editing.retire_tag(tag, by=request.user, **form.signature)

    return change(
        request,
        form,
        write,
        loop=tag.loop,
        done=lambda: reverse("loops:detail", args=[tag.loop.number]),
        back=reverse("tags:detail", args=[name]),
        said=_("%(name)s is retired. Its history stays.") % {"name": name},
        title=_("Retire %(name)s") % {"name": name},
    )


SETTINGS_KINDS = {"required": SettingsKind.REQUIRED, "as-left": SettingsKind.AS_LEFT}


@permitted(May.RECORD_WORK)
def settings(request: HttpRequest, name: str, kind: str) -> HttpResponse:
    """Required settings (for those who may edit the register), or settings as left."""
    tag = _tag(name)
    kind = SETTINGS_KINDS.get(kind)
    if kind is None:
        raise Http404("Settings are required or as-left.")
    if kind == SettingsKind.REQUIRED:
        require(request.user, May.EDIT_REGISTER)
    rows = {row.kind: row for row in tag.settings_rows.all()}
    instance = rows.get(kind) or Settings(tag=tag, kind=kind)
    initial = _opened(tag)
    if kind == SettingsKind.AS_LEFT and kind not in rows and SettingsKind.REQUIRED in rows:
        initial |= {field: getattr(rows[SettingsKind.REQUIRED], field) for field in forms.flat(forms.SETTINGS)}
    form = forms.SettingsForm(request.POST or None, instance=instance, initial=initial)

    def write() -> None:
        editing.change_settings(
            tag, form.facts, kind=kind, by=request.user, work_order=form.cleaned_data["work_order"], **form.signature
        )

    what = _("Settings") if kind == SettingsKind.REQUIRED else _("Settings as left")
    return _at_tag(
        request,
        tag,
        form,
        write,
        title=_("%(what)s of %(name)s") % {"what": what, "name": name},
        said=_("%(what)s of %(name)s were changed.") % {"what": what, "name": name},
    )


@permitted(May.EDIT_REGISTER)
def port(request: HttpRequest, name: str, pk: int | None = None) -> HttpResponse:
    tag = _tag(name)
    stored = get_object_or_404(Port, tag=tag, pk=pk) if pk else Port(tag=tag)
    form = forms.PortForm(request.POST or None, instance=copy(stored), initial=_opened(tag))

    def write() -> None:
        editing.save_port(stored, form.facts, by=request.user, **form.signature)

    title = _("Change %(stored)s") % {"stored": stored} if pk else _("New port of %(name)s") % {"name": name}
    return _at_tag(request, tag, form, write, title=title, said=_("%(name)s was changed.") % {"name": name})


@permitted(May.EDIT_REGISTER)
def port_remove(request: HttpRequest, name: str, pk: int) -> HttpResponse:
    tag = _tag(name)
    stored = get_object_or_404(Port, tag=tag, pk=pk)
    form = ConfirmForm(request.POST or None, initial=_opened(tag))

    def write() -> None:
        editing.remove_port(stored, by=request.user, **form.signature)

    return _at_tag(
        request,
        tag,
        form,
        write,
        title=_("Remove %(stored)s") % {"stored": stored},
        said=_("%(stored)s was removed.") % {"stored": stored},
    )


@permitted(May.EDIT_REGISTER)
def alarm(request: HttpRequest, name: str, pk: int | None = None) -> HttpResponse:
    tag = _tag(name)
    stored = get_object_or_404(Alarm, tag=tag, pk=pk) if pk else Alarm(tag=tag)
    form = forms.AlarmForm(request.POST or None, instance=copy(stored), initial=_opened(tag))

    def write() -> None:
        editing.save_alarm(stored, form.facts, by=request.user, **form.signature)

    title = _("Change %(stored)s") % {"stored": stored} if pk else _("New alarm of %(name)s") % {"name": name}
    return _at_tag(request, tag, form, write, title=title, said=_("%(name)s was changed.") % {"name": name})


@permitted(May.EDIT_REGISTER)
def alarm_remove(request: HttpRequest, name: str, pk: int) -> HttpResponse:
    tag = _tag(name)
    stored = get_object_or_404(Alarm, tag=tag, pk=pk)
    form = ConfirmForm(request.POST or None, initial=_opened(tag))

    def write() -> None:
        editing.remove_alarm(stored, by=request.user, **form.signature)

    return _at_tag(
        request,
        tag,
        form,
        write,
        title=_("Remove %(stored)s") % {"stored": stored},
        said=_("%(stored)s was removed.") % {"stored": stored},
    )


@permitted(May.EDIT_REGISTER)
def link(request: HttpRequest, name: str, pk: int | None = None) -> HttpResponse:
    """Link a tag to another, or change a link of it."""
    tag = _tag(name)
    stored = get_object_or_404(Link, pk=pk) if pk else Link()
    form = forms.LinkForm(request.POST or None, instance=copy(stored), initial=_opened(tag))

    def write() -> None:
        editing.save_link(stored, form.facts, opened_from=tag.loop, by=request.user, **form.signature)

    title = _("Change %(stored)s") % {"stored": stored} if pk else _("New link of %(name)s") % {"name": name}
    return _at_tag(request, tag, form, write, title=title, said=_("%(name)s was changed.") % {"name": name})


@permitted(May.EDIT_REGISTER)
def link_remove(request: HttpRequest, name: str, pk: int) -> HttpResponse:
    tag = _tag(name)
    stored = get_object_or_404(Link.objects.select_related("source__tag__loop", "target__tag__loop"), pk=pk)
    form = ConfirmForm(request.POST or None, initial=_opened(tag))

    def write() -> None:
        editing.remove_link(stored, opened_from=tag.loop, by=request.user, **form.signature)

    return _at_tag(
        request,
        tag,
        form,
        write,
        title=_("Remove %(stored)s") % {"stored": stored},
        said=_("%(stored)s was removed.") % {"stored": stored},
    )


@permitted(May.EDIT_REGISTER)
def link_cores(request: HttpRequest, name: str, pk: int) -> HttpResponse:
    """The cores that a link runs through, from its source to its target."""
    tag = _tag(name)
    stored = get_object_or_404(Link.objects.select_related("source__tag__loop", "target__tag__loop"), pk=pk)
    form = ConfirmForm(request.POST or None, initial=_opened(tag))
    rows = forms.CoreFormSet(request.POST or None, queryset=stored.cores.select_related("cable"), prefix="cores")

    def write() -> None:
        kept = [row.cleaned_data for row in rows if row.cleaned_data and not row.cleaned_data.get("DELETE")]
        facts = [{column: one[column] for column in forms.CoreForm.Meta.fields} for one in kept if one.get("cable")]
        editing.save_cores(stored, facts, opened_from=tag.loop, by=request.user, **form.signature)

    return change(
        request,
        form,
        write,
        loop=tag.loop,
        done=lambda: reverse("tags:detail", args=[tag.name]),
        back=reverse("tags:detail", args=[tag.name]),
        said=_("The cores of %(stored)s were changed.") % {"stored": stored},
        title=_("Cores of %(stored)s") % {"stored": stored},
        formset=rows,
        row_name="Core",
    )


@permitted(May.RECORD_WORK)
def install(request: HttpRequest, name: str) -> HttpResponse:
    tag = _tag(name)
    form = forms.InstallForm(request.POST or None, initial=_opened(tag))

    def write() -> None:
        fitting.install_asset(tag=tag, by=request.user, **form.cleaned_data)

    return _at_tag(
        request,
        tag,
        form,
        write,
        title=_("Install at %(name)s") % {"name": name},
        said=_("The asset is recorded at %(name)s.") % {"name": name},
    )


@permitted(May.RECORD_WORK)
def remove(request: HttpRequest, name: str) -> HttpResponse:
    tag = _tag(name)
    form = forms.RemoveForm(request.POST or None, initial=_opened(tag))

    def write() -> None:
        fitting.remove_asset(tag, by=request.user, **form.cleaned_data)

    return _at_tag(
        request,
        tag,
        form,
        write,
        title=_("Take out of %(name)s") % {"name": name},
        said=_("%(name)s is recorded as empty.") % {"name": name},
    )


@permitted(May.RECORD_WORK)
def fit_board(request: HttpRequest, name: str, bay: str) -> HttpResponse:
    tag = _tag(name)
    form = forms.FitBoardForm(request.POST or None, initial=_opened(tag), takes=tag.families_taken_by(bay))

    def write() -> None:
        fitting.fit_board(tag, bay=bay, by=request.user, **form.cleaned_data)

    return _at_tag(
        request,
        tag,
        form,
        write,
        title=_("Board for bay %(bay)s of %(name)s") % {"bay": bay, "name": name},
        said=_("Bay %(bay)s of %(name)s was filled.") % {"bay": bay, "name": name},
    )


@permitted(May.RECORD_WORK)
def remove_board(request: HttpRequest, name: str, bay: str) -> HttpResponse:
    tag = _tag(name)
    form = forms.RemoveForm(request.POST or None, initial=_opened(tag))

    def write() -> None:
        fitting.remove_board(tag, bay=bay, by=request.user, **form.cleaned_data)

    return _at_tag(
        request,
        tag,
        form,
        write,
        title=_("Empty bay %(bay)s of %(name)s") % {"bay": bay, "name": name},
        said=_("Bay %(bay)s of %(name)s is empty.") % {"bay": bay, "name": name},
    )
