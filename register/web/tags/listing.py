"""The list of tags as a workbench."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from register.models import Tag
from register.models.tallies import TagTally
from register.plant.words import Location, Role
from register.web.loops.filters import choices
from register.web.tags.filters import TagFilter
from register.web.tags.tables import TagTable
from register.web.workbench.bench import Listing, Sort

TAGS = Listing(
    name="tags",
    table=TagTable,
    filters=TagFilter,
    rows=lambda: Tag.objects.in_service().with_installed(),
    key="name",
    area="loop__area_id",
    tally=TagTally,
    sorts=(
        Sort("role", _("Role"), choices(Role), "role", "role"),
        Sort("location", _("Location"), choices(Location), "location", "location"),
    ),
    first_columns=("role", "description", "loop", "area", "location", "installed_model", "installed_serial"),
)
