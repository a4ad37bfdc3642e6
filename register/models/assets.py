"""Physical items: where each is and was, and the boards in it; stock that is not serial numbered."""

from __future__ import annotations

from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce

from register.models import searching
from register.models.catalogue import CatalogueModel
from register.models.fields import name_field, text, word_field
from register.models.lookups import every_word_in
from register.models.loops import Tag
from register.plant.words import AssetState, Condition, ModelKind


class AssetQuerySet(models.QuerySet):
    def not_in_service(self) -> AssetQuerySet:
        return self.filter(state__in=[AssetState.IN_STORE, AssetState.IN_WORKSHOP]).select_related("model")

    def that_could_go_in(self) -> AssetQuerySet:
        """What could be installed at a tag."""
        return self.not_in_service().exclude(model__kind=ModelKind.OPTION_BOARD)

    def boards_that_could_go_in(self) -> AssetQuerySet:
        """What could be fitted in a bay: boards that do not sit in a controller that lies in the store itself."""
        fitted = BoardFitting.objects.current().filter(board=OuterRef("pk"))
        return self.not_in_service().filter(model__kind=ModelKind.OPTION_BOARD).exclude(Exists(fitted))

    def matching(self, words: str) -> AssetQuerySet:
        """Assets with every one of the words in their code, serial number or model."""
        return self.filter(every_word_in(words, "code", "serial", "model__name", "model__maker"))

    def named(self, words: str) -> AssetQuerySet:
        """Assets with the words in their code or serial number."""
        return self.filter(searching.matches(Asset, words, "code", "serial"))

    def count_by_state(self) -> dict[str, int]:
        """How many are in each state that any is in, in the order of the states."""
        counted = dict(self.order_by().values_list("state").annotate(count=models.Count("pk")))
        return {state: counted[state] for state in AssetState if state in counted}

    def with_place(self) -> AssetQuerySet:
        """Each asset with its model, the ``tag_name`` where it stands and, of a board, ``controller_code`` and ``bay``.

        A board stands where its controller stands.
        """
        stands = Installation.objects.current().filter(asset=OuterRef("pk"))
        sits = BoardFitting.objects.current().filter(board=OuterRef("pk"))
        carried = sits.filter(controller__installations__to_date__isnull=True)
        return self.select_related("model").annotate(
            tag_name=Coalesce(
                Subquery(stands.values("tag__name")[:1]),
                Subquery(carried.values("controller__installations__tag__name")[:1]),
            ),
            controller_code=Subquery(sits.values("controller__code")[:1]),
            bay=Subquery(sits.values("bay")[:1]),
        )


class Asset(models.Model):
    code = name_field(40)
    serial = models.CharField(max_length=80)
    model = models.ForeignKey(CatalogueModel, models.PROTECT, related_name="assets")
    state = word_field(AssetState, default=AssetState.IN_STORE)
    store_place = text(60)
    remarks = models.TextField(blank=True)

    objects = AssetQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(
                "model",
                "serial",
                name="one_asset_per_model_and_serial",
                violation_error_message="Another asset of this model has this serial number.",
            )
        ]
        indexes = [models.Index("serial", name="asset_serial")]

    def __str__(self) -> str:
        return self.code


def _period_in_order(name: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        name=name,
        condition=Q(to_date__isnull=True) | Q(to_date__gte=F("from_date")),
        violation_error_message="It cannot come out before it went in.",
    )


class InstallationQuerySet(models.QuerySet):
    def current(self) -> InstallationQuerySet:
        return self.filter(to_date__isnull=True)

    def failed(self) -> InstallationQuerySet:
        """Those that ended because the item failed."""
        return self.filter(condition_out__in=[Condition.FAULTY, Condition.BEYOND_REPAIR])

    def on(self, day) -> InstallationQuerySet:
        return self.filter(Q(to_date__isnull=True) | Q(to_date__gt=day), from_date__lte=day)


class Installation(models.Model):
    """An asset at a tag, from when to when (open: still there)."""

    asset = models.ForeignKey(Asset, models.PROTECT, related_name="installations")
    tag = models.ForeignKey(Tag, models.PROTECT, related_name="installations")
    from_date = models.DateField()
    to_date = models.DateField(null=True, blank=True)
    reason_in = text(200)
    reason_out = text(200)
    condition_out = word_field(Condition, optional=True)

    objects = InstallationQuerySet.as_manager()

    class Meta:
        ordering = ["-from_date", "-pk"]
        constraints = [
            models.UniqueConstraint("asset", condition=Q(to_date__isnull=True), name="an_asset_is_in_one_place"),
            models.UniqueConstraint("tag", condition=Q(to_date__isnull=True), name="a_tag_holds_one_asset"),
            _period_in_order("installation_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.asset} at {self.tag}"


class BoardFitting(models.Model):
    """A board in a bay of a controller, from when to when. A rule says whether the bay takes it."""

    controller = models.ForeignKey(Asset, models.PROTECT, related_name="board_fittings")
    bay = models.CharField(max_length=20)
    model = models.ForeignKey(CatalogueModel, models.PROTECT, related_name="fittings")
    board = models.ForeignKey(Asset, models.PROTECT, null=True, blank=True, related_name="fitted_in")
    from_date = models.DateField()
    to_date = models.DateField(null=True, blank=True)
    condition_out = word_field(Condition, optional=True)

    objects = InstallationQuerySet.as_manager()

    class Meta:
        ordering = ["controller", "bay"]
        constraints = [
            models.UniqueConstraint(
                "controller", "bay", condition=Q(to_date__isnull=True), name="a_bay_holds_one_board"
            ),
            models.UniqueConstraint("board", condition=Q(to_date__isnull=True), name="a_board_is_in_one_bay"),
            _period_in_order("board_fitting_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.model} in bay {self.bay} of {self.controller}"


class StockLine(models.Model):
    """How many of a model lie in a store place without being serial numbered, and the fewest that should.

    The quantity follows the line's movements: nothing else changes it.
    """

    model = models.ForeignKey(CatalogueModel, models.PROTECT, related_name="stock_lines")
    store_place = models.CharField(max_length=60)
    quantity = models.PositiveIntegerField(default=0)
    minimum = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["model", "store_place"]
        constraints = [models.UniqueConstraint("model", "store_place", name="one_stock_line_per_model_and_place")]

    def __str__(self) -> str:
        return f"{self.model} in {self.store_place}"
