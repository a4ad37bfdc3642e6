"""What moved into and out of the store, by whom and why; what is on order and what stock is kept back for."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from register.models.accounts import User
from register.models.assets import Asset, StockLine
from register.models.catalogue import CatalogueModel
from register.models.fields import text, word_field
from register.models.lookups import every_word_in
from register.plant.words import MovementKind, PlannedKind


class PlannedMovementQuerySet(models.QuerySet):
    def open(self) -> PlannedMovementQuerySet:
        return self.filter(closed_on__isnull=True, quantity__gt=F("moved"))


class PlannedMovement(models.Model):
    """So many of a model on order, or reserved for a job, since when and expected or needed when."""

    model = models.ForeignKey(CatalogueModel, models.PROTECT, related_name="planned_movements")
    kind = word_field(PlannedKind)
    reference = models.CharField(max_length=60)
    quantity = models.PositiveIntegerField()
    moved = models.PositiveIntegerField(default=0)
    made_on = models.DateField()
    expected_on = models.DateField()
    by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="planned_movements")
    closed_on = models.DateField(null=True, blank=True)
    closed_reason = text(300)

    objects = PlannedMovementQuerySet.as_manager()

    class Meta:
        ordering = ["expected_on", "pk"]
        constraints = [
            models.UniqueConstraint("model", "kind", "reference", name="one_planned_movement_per_reference"),
            models.CheckConstraint(
                name="planned_movement_not_overdone",
                condition=Q(quantity__gt=0, moved__lte=F("quantity")),
                violation_error_message="More cannot have moved than was planned.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reference}: {self.quantity} {self.model}, {self.kind}"

    @property
    def outstanding(self) -> int:
        return 0 if self.closed_on else self.quantity - self.moved


class StockMovementQuerySet(models.QuerySet):
    def of_model(self, model: CatalogueModel) -> StockMovementQuerySet:
        return self.filter(Q(line__model=model) | Q(asset__model=model))

    def matching(self, words: str) -> StockMovementQuerySet:
        """Movements with every one of the words in the model, the item, the reason or the work order."""
        of_model = (f"{what}__model__{part}" for what in ("line", "asset") for part in ("maker", "name"))
        return self.filter(every_word_in(words, *of_model, "asset__serial", "asset__code", "reason", "work_order"))


class StockMovement(models.Model):
    """One change of what lies in the store: of a stock line, which then holds ``balance``, or of one asset."""

    line = models.ForeignKey(StockLine, models.PROTECT, null=True, blank=True, related_name="movements")
    asset = models.ForeignKey(Asset, models.PROTECT, null=True, blank=True, related_name="movements")
    kind = word_field(MovementKind)
    change = models.IntegerField()
    balance = models.PositiveIntegerField(null=True, blank=True)
    on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="stock_movements")
    reason = models.CharField(max_length=300)
    work_order = text(60)
    planned = models.ForeignKey(PlannedMovement, models.PROTECT, null=True, blank=True, related_name="movements")

    objects = StockMovementQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="stock_movement_of_a_line_or_an_asset",
                condition=Q(line__isnull=False, asset__isnull=True, balance__isnull=False)
                | Q(line__isnull=True, asset__isnull=False, balance__isnull=True),
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.change:+d}: {self.line or self.asset}"

    @property
    def model(self) -> CatalogueModel:
        return (self.line or self.asset).model
