from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from register.models import Asset, BoardFitting, Calibration, Installation
from register.web.catalogue.tables import model_column
from register.web.many.tables import PickColumn


class AssetTable(tables.Table):
    code = tables.Column(linkify=("assets:detail", {"code": tables.A("code")}), verbose_name=_("Asset"))
    serial = tables.Column(verbose_name=_("Serial number"))
    model = model_column()
    kind = tables.Column(accessor="model__kind")
    tag = tables.Column(accessor="tag_name", linkify=("tags:detail", {"name": tables.A("tag_name")}))
    place = tables.Column(empty_values=(), order_by=("store_place", "controller_code", "bay"))
    pick = PickColumn()

    caption = _("Assets")

    class Meta:
        model = Asset
        fields = ("code", "serial", "model", "kind", "state", "tag", "place", "pick")
        empty_text = _("No asset matches. Take a filter away, or search for another part of the serial number.")

    def render_place(self, record: Asset) -> str:
        return place_of(record) or self.default

    def value_place(self, record: Asset) -> str:
        return place_of(record)


def place_of(asset: Asset) -> str:
    return f"bay {asset.bay} of {asset.controller_code}" if asset.controller_code else asset.store_place


class _Part(tables.Table):
    """A short list on an asset's page."""

    class Meta:
        orderable = False


class PlaceTable(_Part):
    """Where an asset stands and stood."""

    tag = tables.Column(linkify=("tags:detail", {"name": tables.A("tag__name")}))
    loop = tables.Column(accessor="tag__loop", linkify=("loops:detail", {"number": tables.A("tag__loop__number")}))
    from_date = tables.DateColumn(short=False, verbose_name=_("From"))
    to_date = tables.DateColumn(short=False, verbose_name=_("To"), default="still there")

    caption = _("Where it stands and stood")

    class Meta(_Part.Meta):
        model = Installation
        fields = ("tag", "loop", "from_date", "to_date", "reason_in", "reason_out", "condition_out")
        empty_text = _("It was never installed.")


class BayTable(_Part):
    """The boards that are and were in a controller."""

    bay = tables.Column()
    model = model_column("Board")
    board = tables.Column(
        accessor="board__serial",
        linkify=("assets:detail", {"code": tables.A("board__code")}),
        verbose_name=_("Serial number"),
    )
    from_date = tables.DateColumn(short=False, verbose_name=_("From"))
    to_date = tables.DateColumn(short=False, verbose_name=_("To"), default="still there")

    caption = _("Boards fitted now and before")

    def render_bay(self, value: str) -> str:
        return f"Bay {value}"

    class Meta(_Part.Meta):
        model = BoardFitting
        fields = ("bay", "model", "board", "from_date", "to_date", "condition_out")
        empty_text = _("No board was ever fitted.")


class ControllerTable(_Part):
    """The controllers that a board is and was in."""

    controller = tables.Column(linkify=("assets:detail", {"code": tables.A("controller__code")}))
    model = model_column(accessor="controller__model")
    from_date = tables.DateColumn(short=False, verbose_name=_("From"))
    to_date = tables.DateColumn(short=False, verbose_name=_("To"), default="still there")

    caption = _("Controllers that it is and was in")

    class Meta(_Part.Meta):
        model = BoardFitting
        fields = ("controller", "model", "bay", "from_date", "to_date", "condition_out")
        empty_text = _("It was never fitted.")


class CalibrationTable(_Part):
    on = tables.DateColumn(short=False, verbose_name=_("Day"))
    tag = tables.Column(linkify=("tags:detail", {"name": tables.A("tag__name")}))
    worst_error_percent = tables.Column(attrs={"td": {"class": "num"}})

    caption = _("Calibrations")

    class Meta(_Part.Meta):
        model = Calibration
        fields = ("on", "tag", "result", "worst_error_percent", "tolerance_percent", "by", "standard", "certificate")
        empty_text = _("No calibration is recorded.")
