"""One field of many loops, tags or assets: choose the rows in a list, see what it does, save, undo."""

from __future__ import annotations

from django.core.exceptions import BadRequest
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from register.models import Asset, BulkEdit, Loop, Tag
from register.services import many
from register.services.permissions import May
from register.services.recording import Refused
from register.web.assets.filters import AssetFilter
from register.web.changes import change
from register.web.loops.filters import LoopFilter
from register.web.many.forms import ColumnForm, UndoForm, bulk_form, label_of
from register.web.many.tables import BulkEditTable
from register.web.parts.lists import answer_list
from register.web.permissions import permitted
from register.web.tags.filters import TagFilter

LISTS = {
    "loops": (LoopFilter, Loop.objects.in_service),
    "tags": (TagFilter, Tag.objects.in_service),
    "assets": (AssetFilter, Asset.objects.with_place),
}


def _chosen(request: HttpRequest, kind: many.Many) -> list[int]:
    """Keys of the rows: those of the form that comes back, else those ticked, else all that the filters leave."""
    if request.method == "POST":
        try:
            return list(many.versions(request.POST.get("seen_revision", "")))
        except Refused as refusal:
            raise BadRequest(str(refusal)) from refusal
    if "all" in request.GET:
        filters, rows = LISTS[kind.name]
        return list(filters(request.GET, queryset=rows()).qs.order_by().values_list("pk", flat=True)[: many.MOST + 1])
    return [int(one) for one in request.GET.getlist("pick") if one.isdecimal()]


@permitted(May.EDIT_REGISTER)
def edit(request: HttpRequest, kind: str) -> HttpResponse:
    """Choose the field, see what each row holds, set it for all."""
    if kind not in many.KINDS:
        raise Http404(f"Nothing is called {kind}.")
    sort = many.KINDS[kind]
    pks = _chosen(request, sort)
    rows = list(sort.rows(pks)) if len(pks) <= many.MOST else []
    back = reverse(f"{kind}:list")
    ask = ColumnForm(sort, request.GET if "change" in request.GET else None)
    context = {
        "kind": kind,
        "ask": ask,
        "count": len(rows),
        "too_many": len(pks) > many.MOST,
        "most": many.MOST,
        "kept": [(name, value) for name, values in request.GET.lists() if name != "change" for value in values],
        "back": back,
    }
    if not rows or not ask.is_valid():
        return render(request, "many/ask.html", context)
    column = ask.cleaned_data["change"]
    form = bulk_form(sort, column)(request.POST or None, initial={"seen_revision": many.seen(rows)})
    made: list[BulkEdit] = []

    def write() -> None:
        made[:] = [
            many.change_many(
                sort,
                column,
                form.cleaned_data[column],
                by=request.user,
                work_order=form.cleaned_data["work_order"],
                **form.signature,
            )
        ]

    def told() -> bool:
        """Whether it is known what the rows would hold."""
        return form.is_bound and column in form.cleaned_data

    def lines() -> list[many.Line]:
        return many.lines(sort, column, rows, form.cleaned_data[column] if told() else None)

    context |= {"lines": lines, "told": told, "column": label_of(sort, column)}
    return change(
        request,
        form,
        write,
        loop=None,
        done=lambda: reverse("many:detail", args=[made[0].pk]),
        said=_("The change was saved."),
        title=_("Change %(len)s %(kind)s") % {"len": len(rows), "kind": kind},
        template="many/change.html",
        **context,
    )


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    """Every change that was made to many rows at once."""
    table = BulkEditTable(BulkEdit.objects.select_related("by", "undone_by"))
    return answer_list(request, "many/list.html", table, name="changes of many rows")


@permitted(May.READ)
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """What was set, row by row, and whether it was undone."""
    one = get_object_or_404(BulkEdit.objects.select_related("by", "undone_by"), pk=pk)
    lines = [many.Line(*line) for line in one.lines]
    column = label_of(many.KINDS[one.kind], one.column)
    context = {"one": one, "lines": lines, "column": column, "page_of": f"{one.kind}:detail"}
    return render(request, "many/detail.html", context)


@permitted(May.EDIT_REGISTER)
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Give every row what it held before, while it still holds what was set."""
    one = get_object_or_404(BulkEdit, pk=pk)
    form = UndoForm(request.POST or None)

    def write() -> None:
        many.undo(one, by=request.user, reason=form.cleaned_data["reason"])

    back = reverse("many:detail", args=[pk])
    title = _("Undo: %(one)s") % {"one": one}
    return change(request, form, write, loop=None, done=lambda: back, back=back, said=_("It was undone."), title=title)
