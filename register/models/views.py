"""Lists that people narrowed, sorted and arranged to their needs, under names of their own."""

from __future__ import annotations

from enum import StrEnum

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from register.models.accounts import User
from register.models.fields import word_field


class ViewOf(StrEnum):
    LOOPS = "loops"
    TAGS = "tags"


class SavedViewQuerySet(models.QuerySet):
    def seen_by(self, person: User) -> SavedViewQuerySet:
        """The person's own and those that others share, by name."""
        return self.filter(Q(owner=person) | Q(shared=True)).select_related("owner").order_by("name", "pk")


class SavedView(models.Model):
    """A list's words, filters, order and columns, as they stand in its address after the question mark."""

    owner = models.ForeignKey(User, models.CASCADE, related_name="saved_views")
    of = word_field(ViewOf)
    name = models.CharField(max_length=60)
    query = models.CharField(max_length=2000, blank=True)
    shared = models.BooleanField(default=False)

    objects = SavedViewQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                "owner",
                "of",
                "name",
                name="one_view_of_a_name_per_person_and_list",
                violation_error_message=_("You have a view of this name. Choose another name, or change that view."),
            )
        ]

    def __str__(self) -> str:
        return self.name
