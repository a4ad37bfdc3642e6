from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from register.models import Area, Tag
from register.web.many.tables import PickColumn
from register.web.workbench.bench import PeekColumn


class TagTable(tables.Table):
    name = tables.Column(linkify=("tags:detail", {"name": tables.A("name")}), verbose_name=_("Tag"))
    loop = tables.Column(linkify=("loops:detail", {"number": tables.A("loop__number")}), order_by="loop__number")
    area = tables.Column(accessor="loop__area", order_by="loop__area__path")
    specified = tables.Column(order_by=("specified__maker", "specified__name"))
    installed_model = tables.Column(verbose_name=_("Installed"))
    installed_serial = tables.Column(verbose_name=_("Serial"))
    peek = PeekColumn()
    pick = PickColumn()

    caption = _("Tags")

    class Meta:
        model = Tag
        fields = (
            "name",
            "role",
            "description",
            "loop",
            "area",
            "location",
            "place",
            "specified",
            "installed_model",
            "installed_serial",
            "calibration_due_on",
            "zone",
            "peek",
            "pick",
        )
        empty_text = _("No tag matches. Take a filter away, or search for another part of the name.")

    def render_area(self, value: Area) -> str:
        return value.below_the_root
