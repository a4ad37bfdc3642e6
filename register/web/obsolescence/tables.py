from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from register.models import CatalogueModel
from register.models.obsolescence import Place
from register.plant.words import Criticality
from register.services.fits import Substitute

FIGURE = {"td": {"class": "num"}}


@dataclass
class Hanging:
    """A model that is no longer made, with the places that hang on it."""

    model: CatalogueModel
    places: Sequence[Place]
    tag: str = ""  # the most critical of them, at which the substitutes are judged
    substitutes: list[Substitute] = field(default_factory=list)

    def __post_init__(self):
        by_loop = {place.loop: place.criticality for place in self.places}
        self.loops = len(by_loop)
        self.by_criticality = Counter(by_loop.values())
        self.name, self.kind, self.in_store = str(self.model), self.model.kind, self.model.in_store
        self.successor = str(self.model.successor or "")

    @property
    def best(self) -> Substitute | None:
        return self.substitutes[0] if self.substitutes else None


def _count(criticality: Criticality) -> tables.Column:
    return tables.Column(
        accessor=f"by_criticality__{criticality.value}",
        verbose_name=criticality.capitalize(),
        attrs=FIGURE,
        default="0",
    )


class ObsolescenceTable(tables.Table):
    name = tables.Column(
        verbose_name=gettext_lazy("Model"),
        linkify=lambda record: reverse("obsolescence:detail", args=[record.model.pk]),
    )
    kind = tables.Column()
    safety = _count(Criticality.SAFETY)
    environment = _count(Criticality.ENVIRONMENT)
    production = _count(Criticality.PRODUCTION)
    routine = _count(Criticality.ROUTINE)
    loops = tables.Column(verbose_name=gettext_lazy("Loops"), attrs=FIGURE)
    in_store = tables.Column(verbose_name=gettext_lazy("Spares left"), attrs=FIGURE)
    successor = tables.Column(default=gettext_lazy("none recorded"), empty_values=("",))
    fits = tables.Column(
        verbose_name=gettext_lazy("What would fit"),
        empty_values=(),
        orderable=False,
        exclude_from_export=True,
        attrs={"td": {"class": "wide"}},
    )

    caption = gettext_lazy("Models that are no longer made and hold a loop up")

    class Meta:
        order_by = ("-safety", "-environment", "-production", "-routine")
        empty_text = gettext_lazy("No loop hangs on a model that is no longer made, as far as the filters reach.")

    def render_successor(self, record: Hanging) -> str:
        model = record.model.successor
        address = reverse("catalogue:detail", args=[model.pk])
        return format_html('<a href="{}">{}</a> {}', address, model, _("(obsolete too)") if model.obsolete else "")

    def render_fits(self, record: Hanging) -> str:
        one = record.best
        if one is None:
            return _("nothing in the catalogue that is still made")
        stock = ngettext("%(count)d in store", "%(count)d in store", one.row.in_store) % {"count": one.row.in_store}
        appear = len(one.outcomes[record.tag].appear)
        said = (
            ngettext("%(count)d new finding at %(tag)s", "%(count)d new findings at %(tag)s", appear)
            if appear
            else _("nothing would be wrong at %(tag)s")
        ) % {"count": appear, "tag": record.tag}
        address = reverse("catalogue:detail", args=[one.row.pk])
        return format_html('<a href="{}">{}</a>: {}; {}', address, one.row, said, stock)


def totals(rows: Iterable[Hanging]) -> dict[str, int]:
    """How many models, loops (each once) and models without a spare the rows hold."""
    rows = list(rows)
    return {
        "models": len(rows),
        "loops": len({place.loop for row in rows for place in row.places}),
        "without_spare": sum(not row.in_store for row in rows),
    }
