from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from register.models import Tag
from register.web.many.tables import PickColumn


class TagTable(tables.Table):
    name = tables.Column(linkify=("tags:detail", {"name": tables.A("name")}), verbose_name=_("Tag"))
    loop = tables.Column(linkify=("loops:detail", {"number": tables.A("loop__number")}), order_by="loop__number")
    area = tables.Column(accessor="loop__area", order_by="loop__area__path")
    installed_model = tables.Column(verbose_name=_("Installed"))
    installed_serial = tables.Column(verbose_name=_("Serial"))
    pick = PickColumn()

    class Meta:
        model = Tag
        fields = (
            "name",
            "role",
            "description",
            "loop",
            "area",
            "location",
            "installed_model",
            "installed_serial",
            "pick",
        )
        empty_text = _("No tag matches. Take a filter away, or search for another part of the name.")
