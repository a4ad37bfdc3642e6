"""The list of loops as a workbench."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from register.models import Loop
from register.models.tallies import LoopTally, worst_finding
from register.plant.words import Criticality, LoopKind
from register.web.loops.filters import WORST_CHOICES, LoopFilter, choices
from register.web.loops.tables import LoopTable
from register.web.workbench.bench import Listing, Sort

LOOPS = Listing(
    name="loops",
    table=LoopTable,
    filters=LoopFilter,
    rows=lambda: Loop.objects.in_service().select_related("area"),
    key="number",
    area="area_id",
    tally=LoopTally,
    sorts=(
        Sort("kind", _("Kind"), choices(LoopKind), "kind", "kind"),
        Sort("criticality", _("Criticality"), choices(Criticality), "criticality", "criticality"),
        Sort("severity", _("Worst open finding"), WORST_CHOICES, "worst", worst_finding()),
    ),
    first_columns=("service", "area", "kind", "criticality", "findings", "revision"),
)
