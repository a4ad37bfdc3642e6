"""Packs of loop sheets: ask for one, see how far it is, stop it, go on with it, fetch it."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Sum
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from register.jobs.packs import ask_for_pack, begin, cancel, delete_file
from register.jobs.running import end_if_stopped
from register.models import Loop, Pack
from register.services.permissions import May
from register.services.recording import Refused
from register.sheets.packs import file_of
from register.web.packs.filters import PackLoops
from register.web.packs.forms import AskForm
from register.web.packs.tables import PackTable, state_of
from register.web.parts.lists import answer_list
from register.web.permissions import permitted
from register.web.sheets.views import end_of, look


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    table = PackTable(Pack.objects.select_related("by", "job").defer("loops", "left_out"))
    kept = Pack.objects.filter(file_deleted_at=None).aggregate(bytes=Sum("file_bytes"))["bytes"] or 0
    return answer_list(request, "packs/list.html", table, name="packs", context={"kept_bytes": kept})


@permitted(May.READ, post=May.READ)
def ask(request: HttpRequest) -> HttpResponse:
    """Choose loops as their list does, and ask for their sheets in one file."""
    page = look(request)
    data = request.POST if request.method == "POST" else request.GET
    initial = {"paper": page.paper} | {name: data[name] for name in ("as_on", "numbers") if name in data}
    form = AskForm(request.POST) if request.method == "POST" else AskForm(initial=initial)
    chosen = PackLoops(data, queryset=Loop.objects.all())
    if request.method == "POST" and form.is_valid() and chosen.is_valid():
        loops = _loops(chosen, form)
        if loops:
            day = form.cleaned_data["as_on"]
            pack = ask_for_pack(
                loops,
                title=_title(chosen, form),
                form=form.cleaned_data["form"],
                paper=form.cleaned_data["paper"],
                address=page.address,
                as_on=day,
                moment=end_of(day) if day else None,
                by=request.user,
            )
            return redirect("packs:detail", pack.pk)
        form.add_error(None, _("No loop is chosen by all of this together. Take a filter away."))
    return render(request, "packs/ask.html", {"filter": chosen, "form": form})


def _loops(chosen: PackLoops, form: AskForm) -> list[Loop]:
    """Loops in service or, for a day that is past, all that there ever were."""
    loops = chosen.qs if form.cleaned_data["as_on"] else chosen.qs.in_service()
    if numbers := form.cleaned_data["numbers"]:
        loops = loops.filter(number__in=numbers)
    return list(loops.order_by("number").only("pk"))


def _title(chosen: PackLoops, form: AskForm) -> str:
    numbers = form.cleaned_data["numbers"]
    named = f"loops {', '.join(numbers[:5])}{' and others' if len(numbers) > 5 else ''}" if numbers else ""
    words = ", ".join(filter(None, (chosen.words, named)))
    title = _("Loop sheets: %(words)s") % {"words": words} if words else _("Loop sheets of the whole plant")
    return title[: Pack._meta.get_field("title").max_length]


@permitted(May.READ, post=May.READ)
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """How far a pack is, and its file; a POST goes on with one that was stopped."""
    pack = get_object_or_404(Pack.objects.select_related("by", "job", "file_deleted_by"), pk=pk)
    if request.method == "POST":
        try:
            begin(pack, by=request.user)
        except Refused as refusal:
            messages.error(request, str(refusal))
        return redirect("packs:detail", pk)
    if pack.job:
        end_if_stopped(pack.job)
    template = "packs/progress.html" if request.htmx else "packs/detail.html"
    context = {"pack": pack, "state": state_of(pack), "file_kept": pack.made_at and file_of(pack).is_file()}
    return render(request, template, context)


@permitted(May.READ, post=May.READ)
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    pack = get_object_or_404(Pack, pk=pk)
    if request.method == "POST":
        cancel(pack)
    return redirect("packs:detail", pk)


@permitted(May.EDIT_REGISTER, post=May.EDIT_REGISTER)
def delete(request: HttpRequest, pk: int) -> HttpResponse:
    pack = get_object_or_404(Pack, pk=pk)
    if request.method == "POST":
        try:
            delete_file(pack, by=request.user)
            messages.success(request, _("The file was deleted. A copy of it can still be verified."))
        except Refused as refusal:
            messages.error(request, str(refusal))
    return redirect("packs:detail", pk)


@permitted(May.READ)
def download(request: HttpRequest, pk: int) -> HttpResponse:
    pack = get_object_or_404(Pack, pk=pk)
    if not pack.made_at or not file_of(pack).is_file():
        messages.warning(request, _("There is no file of this pack to fetch."))
        return redirect("packs:detail", pk)
    name = f"loop-sheets-{pack.asked_at:%Y-%m-%d}-pack-{pack.pk}.{pack.ending}"
    return FileResponse(file_of(pack).open("rb"), as_attachment=True, filename=name)
