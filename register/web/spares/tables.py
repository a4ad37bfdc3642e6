from __future__ import annotations

import django_tables2 as tables

from register.models import CatalogueModel

FIGURE = {"td": {"class": "num"}}


class SparesTable(tables.Table):
    name = tables.Column(
        accessor="pk",
        linkify=("catalogue:detail", {"pk": tables.A("pk")}),
        verbose_name="Model",
        order_by=("maker", "name"),
    )
    kind = tables.Column(order_by=("kind", "family__name"))
    order_code = tables.Column(attrs={"td": {"class": "nowrap"}})
    installed = tables.Column(attrs=FIGURE)
    in_store = tables.Column(attrs=FIGURE)
    minimum = tables.Column(attrs=FIGURE, empty_values=(0,))
    short = tables.Column(attrs=FIGURE, empty_values=(0,))
    price = tables.Column(attrs=FIGURE, orderable=False)
    lead_time_days = tables.Column(verbose_name="Lead time (days)", attrs=FIGURE)
    remark = tables.Column(empty_values=(), orderable=False)

    caption = "Spare parts"

    class Meta:
        model = CatalogueModel
        fields = (
            "name",
            "kind",
            "order_code",
            "installed",
            "in_store",
            "minimum",
            "short",
            "price",
            "lead_time_days",
            "remark",
        )
        empty_text = "No model matches. Take a filter away to see more."

    def render_name(self, record: CatalogueModel) -> str:
        return str(record)

    value_name = render_name

    def render_kind(self, record: CatalogueModel) -> str:
        return named_kind(record)

    value_kind = render_kind

    def render_remark(self, record: CatalogueModel) -> str:
        return remark(record) or self.default

    def value_remark(self, record: CatalogueModel) -> str:
        return remark(record)


def named_kind(model: CatalogueModel) -> str:
    """What a model is and, of a board, its family."""
    return f"{model.kind}, {model.family}" if model.family else model.kind


def remark(model: CatalogueModel) -> str:
    """What to know before ordering."""
    if not model.obsolete:
        return ""
    return f"obsolete; successor {model.successor}" if model.successor else "obsolete, no successor recorded"
