"""One model of the spares list, with what was worked out for it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from register.models import CatalogueModel
from register.services.spares import Holding, Spare


@dataclass
class SpareRow:
    """A model; what is worked out stands only with the model that is held, the others point to it."""

    spare: Spare
    holding: Holding
    places: dict[tuple[int, str], int]  # (area, criticality) → installed there, of those that were asked for
    areas: dict[int, str]

    @property
    def model(self) -> CatalogueModel:
        return self.spare.row

    @property
    def pk(self) -> int:
        return self.model.pk

    @property
    def name(self) -> str:
        return str(self.model)

    @property
    def kind(self) -> str:
        """What it is and, of a board, its family."""
        return f"{self.model.kind}, {self.model.family}" if self.model.family else self.model.kind

    @property
    def installed(self) -> int:
        return sum(self.places.values())

    @property
    def is_stocked(self) -> bool:
        return bool(self.spare.installed or self.spare.in_store or self.spare.minimum or self.spare.on_order)

    @property
    def failures(self) -> int:
        return self.spare.failures

    @property
    def in_store(self) -> int:
        return self.spare.in_store

    @property
    def on_order(self) -> int:
        return self.spare.on_order

    @property
    def reserved(self) -> int:
        return self.spare.reserved

    @property
    def minimum(self) -> int:
        return self.spare.minimum

    @property
    def is_held(self) -> bool:
        return self.holding.spare is self.spare

    @property
    def missing(self) -> list[str]:
        return self.holding.missing if self.is_held else []

    @property
    def needed(self) -> int | None:
        return self.holding.needed if self.is_held else None

    @property
    def short(self) -> int | None:
        return self.holding.short if self.is_held else None

    @property
    def surplus(self) -> int | None:
        return self.holding.surplus if self.is_held else None

    @property
    def risk_percent(self) -> float | None:
        risk = self.holding.risk if self.is_held else None
        return None if risk is None else 100 * risk

    @property
    def price(self) -> Decimal | None:
        return self.model.price

    @property
    def cost(self) -> Decimal | None:
        return self.holding.cost if self.is_held and self.short else None

    @property
    def lead_time_days(self) -> int | None:
        return self.model.lead_time_days

    @property
    def main_area(self) -> str:
        """The area in which most of its places lie, those that it stands in for too."""
        counts = defaultdict(int)
        for served in self.holding.served if self.is_held else [self.spare]:
            for (area, _criticality), count in served.places.items():
                counts[self.areas[area]] += count
        return min(counts, key=lambda path: (-counts[path], path), default="")

    def arrives_on(self, day: date) -> date | None:
        """When it would arrive if it were ordered on a day."""
        return None if self.lead_time_days is None else day + timedelta(days=self.lead_time_days)

    @property
    def remark(self) -> str:
        """What to know before ordering."""
        said = []
        if not self.is_held:
            said.append(_("held as %(model)s") % {"model": self.holding.spare})
        elif self.holding.others:
            said.append(_("also for %(models)s") % {"models": ", ".join(map(str, self.holding.others))})
        if self.model.obsolete and self.is_held:
            successor = self.model.successor
            said.append(
                _("obsolete; successor %(model)s") % {"model": successor}
                if successor
                else _("obsolete, no successor recorded")
            )
        elif self.model.obsolete:
            said.append(_("obsolete"))
        if self.missing:
            said.append(_("cannot tell without %(what)s") % {"what": " and ".join(self.missing)})
        if self.spare.overdue:
            said.append(_("%(count)d on order are overdue") % {"count": self.spare.overdue})
        return "; ".join(said)
