"""The places that hang on a model which is no longer made."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, QuerySet

from register.models.assets import BoardFitting, Installation
from register.models.loops import Tag
from register.plant.words import Criticality


@dataclass(frozen=True)
class Place:
    """A tag that hangs on a model, and the loop and criticality that it has."""

    tag: int
    loop: int
    criticality: str

    @property
    def urgency(self) -> int:
        """0 for the most critical."""
        return list(Criticality).index(Criticality(self.criticality))


def hanging_places(loops: QuerySet, models: QuerySet) -> dict[int, list[Place]]:
    """By model of these, the tags of these loops that hang on it, the most critical first; in three queries.

    A tag hangs on what is installed at it and, of boards, on what sits in the controller there; where nothing is
    installed, on what is specified.
    """
    current = Installation.objects.current()
    tags = Tag.objects.in_service().filter(loop__in=loops)
    empty = tags.filter(~Exists(current.filter(tag=OuterRef("pk"))), specified__in=models)
    here = {"controller__installations__to_date__isnull": True, "controller__installations__tag__in": tags}
    boards = BoardFitting.objects.current().filter(**here, model__in=models)
    found = defaultdict(set)
    for rows, model, tag in (
        (current.filter(tag__in=tags, asset__model__in=models), "asset__model", "tag"),
        (empty, "specified", ""),
        (boards, "model", "controller__installations__tag"),
    ):
        paths = (
            (f"{tag}__pk", f"{tag}__loop", f"{tag}__loop__criticality")
            if tag
            else (
                "pk",
                "loop",
                "loop__criticality",
            )
        )
        for pk, *place in rows.order_by().values_list(model, *paths):
            found[pk].add(Place(*place))
    return {pk: sorted(places, key=lambda one: (one.urgency, one.tag)) for pk, places in found.items()}
