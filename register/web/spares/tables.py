from __future__ import annotations

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from register.models import PlannedMovement, StockMovement
from register.services.kits import BarePlace
from register.web.spares.rows import SpareRow

FIGURE = {"td": {"class": "num"}}


def opened_at(anchor: str):
    """A link to the part of the model's page that says how the figure was worked out."""
    return lambda record: f"{reverse('spares:detail', args=[record.pk])}#{anchor}"


def figure(anchor: str, **known) -> tables.Column:
    return tables.Column(attrs=FIGURE, linkify=opened_at(anchor), **known)


def percent(share: float) -> str:
    """A chance in per cent, with as many digits as say something."""
    if share < 0.01:
        return "<\N{NO-BREAK SPACE}0.01" if share else "0"
    return f"{share:.2f}" if share < 10 else f"{share:.0f}"


class SparesTable(tables.Table):
    name = tables.Column(
        linkify=("spares:detail", {"pk": tables.A("pk")}),
        verbose_name=_("Model"),
        order_by=("model__maker", "model__name"),
    )
    kind = tables.Column(verbose_name=_("Kind"))
    order_code = tables.Column(accessor="model__order_code", verbose_name=_("Order code"), visible=False)
    installed = figure("installed", verbose_name=_("Installed"))
    failures = figure("rate", verbose_name=_("Failed here"), empty_values=(0,))
    rate = tables.Column(accessor="spare__rate__mean", verbose_name=_("Failures per year of one"), visible=False)
    in_store = figure("stock", verbose_name=_("In store"))
    on_order = figure("stock", verbose_name=_("On order"), empty_values=(0,))
    reserved = figure("stock", verbose_name=_("Reserved"), empty_values=(0,))
    minimum = tables.Column(verbose_name=_("Minimum"), visible=False)
    needed = figure("need", verbose_name=_("Needed"))
    short = figure("position", verbose_name=_("Short"), empty_values=(0, None))
    surplus = figure("position", verbose_name=_("Surplus"), empty_values=(0, None))
    risk_percent = figure("risk", verbose_name=_("Risk (%)"))
    price = tables.Column(verbose_name=_("Price"), attrs=FIGURE)
    cost = figure("position", verbose_name=_("To order"))
    lead_time_days = tables.Column(verbose_name=_("Lead time (days)"), attrs=FIGURE)
    main_area = tables.Column(verbose_name=_("Mostly for"), visible=False)
    remark = tables.Column(verbose_name=_("Remark"), empty_values=(), orderable=False, attrs={"td": {"class": "wide"}})

    caption = _("Spare parts")

    class Meta:
        empty_text = _("No model matches. Take a filter away to see more.")

    def render_risk_percent(self, value: float) -> str:
        return percent(value)

    def value_risk_percent(self, value: float | None) -> float | None:
        return None if value is None else round(value, 6)

    def value_rate(self, value: float | None) -> float | None:
        return None if value is None else round(value, 6)

    def render_remark(self, record: SpareRow) -> str:
        return record.remark or self.default


class MovementTable(tables.Table):
    """What moved into and out of the store."""

    on = tables.DateColumn(short=False, verbose_name=_("Day"))
    model = tables.Column(
        verbose_name=_("Model"), linkify=("spares:detail", {"pk": tables.A("model__pk")}), orderable=False
    )
    kind = tables.Column(verbose_name=_("Movement"))
    change = tables.Column(verbose_name=_("Change"), attrs=FIGURE)
    balance = tables.Column(verbose_name=_("Then there"), attrs=FIGURE)
    place = tables.Column(empty_values=(), verbose_name=_("Store place or item"), orderable=False)
    by = tables.Column(verbose_name=_("By"), accessor="by__display_name", order_by="by__username")
    reason = tables.Column(verbose_name=_("Reason"), attrs={"td": {"class": "wide"}})
    work_order = tables.Column(verbose_name=_("Work order"))

    caption = _("Movements of stock")

    class Meta:
        model = StockMovement
        fields = ("on", "model", "kind", "change", "balance", "place", "by", "reason", "work_order")
        empty_text = _("Nothing moved.")

    def render_change(self, value: int) -> str:
        return f"{value:+d}".replace("-", "−")

    def render_place(self, record: StockMovement) -> str:
        return record.line.store_place if record.line else f"{record.asset.code}, {record.asset.serial}"

    value_place = render_place


class PlannedTable(tables.Table):
    """What is on order and what is reserved."""

    kind = tables.Column(verbose_name=_("Which"))
    reference = tables.Column(verbose_name=_("Reference"))
    quantity = tables.Column(attrs=FIGURE, verbose_name=_("Quantity"))
    outstanding = tables.Column(attrs=FIGURE, verbose_name=_("Outstanding"))
    made_on = tables.DateColumn(short=False, verbose_name=_("Made on"))
    expected_on = tables.DateColumn(short=False, verbose_name=_("Expected on"))
    by = tables.Column(accessor="by__display_name", verbose_name=_("By"), default=_("by import"))
    close = tables.Column(
        empty_values=(), verbose_name=_("Work"), linkify=("spares:close_planned", {"pk": tables.A("pk")})
    )

    caption = _("On order and reserved")

    class Meta:
        model = PlannedMovement
        fields = ("kind", "reference", "quantity", "outstanding", "made_on", "expected_on", "by", "close")
        orderable = False
        empty_text = _("Nothing is on order or reserved.")

    def render_close(self) -> str:
        return str(_("Close"))


class BareTable(tables.Table):
    """Places that one failure would stop."""

    tag = tables.Column(
        accessor="tag__name",
        linkify=("tags:detail", {"name": tables.A("tag__name")}),
        verbose_name=_("Tag"),
        attrs={"td": {"class": "nowrap"}},
    )
    bay = tables.Column(verbose_name=_("Bay"))
    loop = tables.Column(
        accessor="tag__loop__number",
        linkify=("loops:detail", {"number": tables.A("tag__loop__number")}),
        verbose_name=_("Loop"),
    )
    criticality = tables.Column(accessor="tag__loop__criticality", verbose_name=_("Criticality"))
    area = tables.Column(accessor="tag__loop__area__path", verbose_name=_("Area"))
    part = tables.Column(
        linkify=lambda record: reverse("spares:detail", args=[record.part.row.pk]), verbose_name=_("Part")
    )
    remark = tables.Column(empty_values=(), orderable=False, verbose_name=_("Remark"), attrs={"td": {"class": "wide"}})

    caption = _("Places without a spare")

    class Meta:
        empty_text = _("Every critical place chosen has a spare in the store, or something there that fits.")

    def render_remark(self, record: BarePlace) -> str:
        said = []
        if record.held.on_order:
            said.append(_("%(count)d on order") % {"count": record.held.on_order})
        if record.held is not record.part:
            said.append(_("held as %(model)s") % {"model": record.held})
        if not record.judged:
            said.append(_("not judged what from the store would fit: narrow the list"))
        return "; ".join(map(str, said)) or self.default


class FitsTable(BareTable):
    """Places without a spare of their own that something else from the store would get going."""

    fits = tables.Column(empty_values=(), orderable=False, verbose_name=_("Fits from the store"))

    caption = _("Places that something else fits")

    class Meta:
        sequence = ("...", "fits")
        exclude = ("bay", "remark")
        empty_text = _("Nothing else in the store fits any of these places.")

    def render_fits(self, record: BarePlace) -> str:
        names = ", ".join(dict.fromkeys(str(one.model) for one in record.fits))
        return format_html('<a href="{}">{}</a>', reverse("swaps:what_fits", args=[record.tag.name]), names)
