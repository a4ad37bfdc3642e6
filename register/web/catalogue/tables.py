from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from register.models import BoardFamily, CatalogueModel, CatalogueRevision, Tag
from register.plant.values import Bay, ModelPort
from register.web.catalogue import facts
from register.web.history.tables import folded
from register.web.parts.words import localdate


def model_column(heading: str = "Model", accessor: str = "model") -> tables.Column:
    """A catalogue model that leads to its page."""
    return tables.Column(
        accessor=accessor,
        linkify=("catalogue:detail", {"pk": tables.A(f"{accessor}__pk")}),
        verbose_name=heading,
        order_by=(f"{accessor}__maker", f"{accessor}__name"),
    )


class CatalogueTable(tables.Table):
    name = tables.Column(linkify=("catalogue:detail", {"pk": tables.A("pk")}), verbose_name=_("Model"))
    installed = tables.Column(attrs={"td": {"class": "num"}})
    in_store = tables.Column(attrs={"td": {"class": "num"}})
    obsolete = tables.Column(empty_values=(False,), default="—")
    successor = tables.Column(visible=False)

    caption = _("Catalogue")

    class Meta:
        model = CatalogueModel
        fields = ("name", "maker", "kind", "family", "description", "installed", "in_store", "obsolete", "successor")
        empty_text = _("No model matches. Take a filter away, or search for another part of its name.")

    def render_obsolete(self, record: CatalogueModel) -> str:
        return f"obsolete, successor {record.successor}" if record.successor else "obsolete"


class _PartTable(tables.Table):
    """Ports or bays of a model, each with its work for those who may do it."""

    work = tables.Column(empty_values=(), verbose_name=_("Work"))
    part = ""

    def __init__(self, rows: Iterable, model: CatalogueModel, pks: Mapping[object, int]):
        self.model, self.pks = model, pks
        super().__init__(rows, exclude=() if pks else ("work",), orderable=False)

    def render_work(self, record: ModelPort | Bay) -> str:
        args = (self.model.pk, self.pks[self.key(record)])
        correct, remove = (
            reverse(f"catalogue:{self.part}", args=args),
            reverse(f"catalogue:{self.part}_remove", args=args),
        )
        return format_html('<a href="{}">Correct</a> · <a href="{}">Remove</a>', correct, remove)


class PortTable(_PartTable):
    """Inputs and outputs of a model."""

    name = tables.Column(verbose_name=_("Port"))
    direction = tables.Column()
    purposes = tables.Column()
    signals = tables.Column()
    terminals = tables.Column()
    ratings = tables.Column(empty_values=(), attrs={"td": {"class": "wide"}})

    caption = _("Ports")
    part = "port"

    class Meta:
        sequence = ("...", "work")
        empty_text = _("No port is recorded.")

    def key(self, record: ModelPort) -> tuple[str, str]:
        return record.name, record.direction

    def render_purposes(self, value: tuple[str, ...]) -> str:
        return ", ".join(value)

    def render_signals(self, record: ModelPort) -> str:
        return "; ".join(facts.signals(record))

    def render_ratings(self, record: ModelPort) -> str:
        return "; ".join(facts.ratings(record)) or self.default


class BayTable(_PartTable):
    """Positions for option boards."""

    name = tables.Column(verbose_name=_("Bay"))
    takes = tables.Column(verbose_name=_("Takes boards of"), default="none", empty_values=((),))

    caption = _("Bays")
    part = "bay"

    class Meta:
        sequence = ("...", "work")
        empty_text = _("It has no bay for option boards.")

    def key(self, record: Bay) -> str:
        return record.name

    def render_takes(self, value: tuple[str, ...]) -> str:
        return ", ".join(value)


class UseTable(tables.Table):
    """Tags that a model is specified for or installed at."""

    name = tables.Column(linkify=("tags:detail", {"name": tables.A("name")}), verbose_name=_("Tag"))
    loop = tables.Column(linkify=("loops:detail", {"number": tables.A("loop__number")}), order_by="loop__number")
    area = tables.Column(accessor="loop__area", order_by="loop__area__path")
    criticality = tables.Column(accessor="loop__criticality")
    use = tables.Column(empty_values=(), orderable=False)

    caption = _("Where it is used")

    class Meta:
        model = Tag
        fields = ("name", "role", "loop", "area", "criticality", "use")
        empty_text = _("No tag specifies it, and it is installed nowhere.")

    def render_use(self, record: Tag) -> str:
        in_bay = f"in bay {record.bay} of {record.controller}" if record.controller else ""
        stands = "installed" if record.is_installed and not in_bay else ""
        return " and ".join(filter(None, ("specified" if record.is_specified else "", stands, in_bay)))


class ModelRevisionTable(tables.Table):
    """Who changed a model's entry."""

    number = tables.Column(verbose_name=_("Revision"))
    at = tables.Column(verbose_name=_("When"))
    by = tables.Column(accessor="by__display_name", verbose_name=_("Who"))
    reason = tables.Column(verbose_name=_("Why"))
    changes = tables.Column(verbose_name=_("What changed"), empty_values=(), attrs={"td": {"class": "wide"}})

    caption = _("Changes of this entry, the latest first")

    class Meta:
        orderable = False
        model = CatalogueRevision
        fields = ("number", "at", "by", "reason", "changes")
        empty_text = _("No change of this entry is recorded.")

    def render_at(self, value: datetime) -> str:
        return localdate(value)

    def render_changes(self, value: list[str]) -> str:
        return folded(value) if value else "added"


class FamilyTable(tables.Table):
    """The board families."""

    name = tables.Column(verbose_name=_("Board family"))
    boards = tables.Column(
        accessor="board_count",
        attrs={"td": {"class": "num"}},
        linkify=lambda record: f"{reverse('catalogue:list')}?family={record.pk}",
    )
    takers = tables.Column(
        accessor="taker_count", attrs={"td": {"class": "num"}}, verbose_name=_("Models with a bay for it")
    )
    work = tables.Column(
        accessor="pk",
        linkify=("catalogue:family", {"pk": tables.A("pk")}),
        verbose_name=_("Work"),
        orderable=False,
        exclude_from_export=True,
    )

    caption = _("Board families")

    class Meta:
        model = BoardFamily
        fields = ("name", "description", "boards", "takers", "work")
        empty_text = _("No board family is recorded yet.")

    def __init__(self, rows: Iterable[BoardFamily], edits: bool):
        super().__init__(rows, exclude=() if edits else ("work",))

    def render_work(self) -> str:
        return "Correct"
