from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from register.models import Cable, Core


class CableTable(tables.Table):
    name = tables.Column(linkify=("cables:detail", {"name": tables.A("name")}), verbose_name=_("Cable"))
    cores = tables.Column(attrs={"td": {"class": "num"}})
    used = tables.Column(attrs={"td": {"class": "num"}}, verbose_name=_("Cores in use"))

    caption = _("Cables")

    class Meta:
        model = Cable
        fields = ("name", "use", "designation", "cores", "used", "csa_mm2", "length_m", "screened", "screen_earthed_at")
        empty_text = _("No cable is recorded yet.")


class CoreTable(tables.Table):
    core = tables.Column()
    source = tables.Column(
        accessor="link__source", linkify=("tags:detail", {"name": tables.A("link__source__tag__name")}), orderable=False
    )
    target = tables.Column(
        accessor="link__target", linkify=("tags:detail", {"name": tables.A("link__target__tag__name")}), orderable=False
    )

    caption = _("Cores in use")

    class Meta:
        model = Core
        fields = (
            "core",
            "colour",
            "polarity",
            "source",
            "target",
            "from_place",
            "from_terminal",
            "to_place",
            "to_terminal",
        )
        empty_text = _("No link runs through this cable.")
