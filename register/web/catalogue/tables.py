from __future__ import annotations

import django_tables2 as tables

from register.models import CatalogueModel, Tag
from register.plant.values import ModelPort
from register.web.catalogue import facts


def model_column(heading: str = "Model", accessor: str = "model") -> tables.Column:
    """A catalogue model that leads to its page."""
    return tables.Column(
        accessor=accessor,
        linkify=("catalogue:detail", {"pk": tables.A(f"{accessor}__pk")}),
        verbose_name=heading,
        order_by=(f"{accessor}__maker", f"{accessor}__name"),
    )


class CatalogueTable(tables.Table):
    name = tables.Column(linkify=("catalogue:detail", {"pk": tables.A("pk")}), verbose_name="Model")
    installed = tables.Column(attrs={"td": {"class": "num"}})
    in_store = tables.Column(attrs={"td": {"class": "num"}})
    obsolete = tables.Column(empty_values=(False,), default="—")

    caption = "Catalogue"

    class Meta:
        model = CatalogueModel
        fields = ("name", "maker", "kind", "family", "description", "installed", "in_store", "obsolete")
        empty_text = "No model matches. Take a filter away, or search for another part of its name."

    def render_obsolete(self, record: CatalogueModel) -> str:
        return f"obsolete, successor {record.successor}" if record.successor else "obsolete"


class PortTable(tables.Table):
    """Inputs and outputs of a model."""

    name = tables.Column(verbose_name="Port")
    direction = tables.Column()
    purposes = tables.Column()
    signals = tables.Column()
    terminals = tables.Column()
    ratings = tables.Column(empty_values=(), attrs={"td": {"class": "wide"}})

    caption = "Ports"

    class Meta:
        orderable = False
        empty_text = "No port is recorded."

    def render_purposes(self, value: tuple[str, ...]) -> str:
        return ", ".join(value)

    def render_signals(self, record: ModelPort) -> str:
        return "; ".join(facts.signals(record))

    def render_ratings(self, record: ModelPort) -> str:
        return "; ".join(facts.ratings(record)) or self.default


class BayTable(tables.Table):
    """Positions for option boards."""

    name = tables.Column(verbose_name="Bay")
    takes = tables.Column(verbose_name="Takes boards of", default="none", empty_values=((),))

    caption = "Bays"

    class Meta:
        orderable = False

    def render_takes(self, value: tuple[str, ...]) -> str:
        return ", ".join(value)


class UseTable(tables.Table):
    """Tags that a model is specified for or installed at."""

    name = tables.Column(linkify=("tags:detail", {"name": tables.A("name")}), verbose_name="Tag")
    loop = tables.Column(linkify=("loops:detail", {"number": tables.A("loop__number")}), order_by="loop__number")
    area = tables.Column(accessor="loop__area", order_by="loop__area__path")
    use = tables.Column(empty_values=(), orderable=False)

    caption = "Where it is used"

    class Meta:
        model = Tag
        fields = ("name", "role", "loop", "area", "use")
        empty_text = "No tag specifies it, and it is installed nowhere."

    def render_use(self, record: Tag) -> str:
        uses = ("specified" if record.is_specified else "", "installed" if record.is_installed else "")
        return " and ".join(filter(None, uses))
