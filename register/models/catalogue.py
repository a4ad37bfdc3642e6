"""What makers sell: models, their ports, their bays, and the board families that bays take."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.db.models import Count, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce, Lower

from register.models.fields import number, span_not_empty, text, word_field
from register.models.lookups import every_word_in
from register.plant.words import (
    AccuracyBasis,
    AssetState,
    Direction,
    FailPosition,
    LoadKind,
    ModelKind,
    OnRisingSignal,
    PidForm,
    ProportionalAs,
    SupplyKind,
    TimeUnit,
)


class BoardFamilyQuerySet(models.QuerySet):
    def with_counts(self) -> BoardFamilyQuerySet:
        """Each family with its ``board_count`` and the ``taker_count`` of models with a bay for it."""
        return self.annotate(
            board_count=Count("boards", distinct=True), taker_count=Count("bays__model", distinct=True)
        )


class BoardFamily(models.Model):
    """Boards that a bay accepts alike. Plants add their own."""

    name = models.CharField(max_length=60, unique=True)
    description = text()

    objects = BoardFamilyQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "board families"

    def __str__(self) -> str:
        return self.name


class CatalogueModelQuerySet(models.QuerySet):
    def matching(self, words: str) -> CatalogueModelQuerySet:
        """Models with every one of the words in their maker, name, order code or description."""
        return self.filter(every_word_in(words, "maker", "name", "order_code", "description"))

    def with_counts(self, loops: QuerySet | None = None) -> CatalogueModelQuerySet:
        """Each model with how many are ``installed`` and ``in_store``, and the ``minimum`` of its stock lines.

        Installed is what stands at a tag now and, of boards, what sits in a controller that does; given ``loops``, only
        what stands there. What lies in the store counts by stock line and by serial number.
        """
        from register.models.assets import Asset, BoardFitting, Installation, StockLine

        at_tags = Installation.objects.current()
        if loops is not None:
            at_tags = at_tags.filter(tag__loop__in=loops)
        in_bays = BoardFitting.objects.current().filter(controller__in=at_tags.values("asset"))
        in_store = Asset.objects.filter(state=AssetState.IN_STORE)
        return self.annotate(
            installed=_of_each(at_tags, "asset__model", Count("pk")) + _of_each(in_bays, "model", Count("pk")),
            in_store=_of_each(StockLine.objects, "model", Sum("quantity")) + _of_each(in_store, "model", Count("pk")),
            minimum=_of_each(StockLine.objects, "model", Sum("minimum")),
        )

    def totals(self) -> dict[str, int | Decimal]:
        """Of models :meth:`with_counts`: how many, their ``installed`` and ``in_store``, what that stock is ``worth``.

        Worth, in the plant's currency, is at the catalogue's prices; ``unpriced`` is how many in store have none.
        """
        found = {"models": 0, "installed": 0, "in_store": 0, "worth": Decimal(0), "unpriced": 0}
        for installed, in_store, price in self.order_by().values_list("installed", "in_store", "price"):
            found["models"] += 1
            found["installed"] += installed
            found["in_store"] += in_store
            found["worth"] += in_store * (price or 0)
            found["unpriced"] += in_store if price is None else 0
        return found


def _of_each(rows: QuerySet, model: str, what: models.Aggregate) -> Coalesce:
    """A figure over the rows of each model; 0 where there is none."""
    mine = rows.filter(**{model: OuterRef("pk")}).order_by()
    return Coalesce(Subquery(mine.values(model).annotate(figure=what).values("figure")), 0)


class CatalogueModel(models.Model):
    """Columns bear the names of :class:`register.plant.values.Model`'s fields.

    ``revision`` is the number of its latest :class:`CatalogueRevision`, which a form carries to notice a change made
    meanwhile.
    """

    maker = models.CharField(max_length=60)
    name = models.CharField(max_length=80)
    kind = word_field(ModelKind)
    description = text(200)
    order_code = text(80)
    family = models.ForeignKey(BoardFamily, models.PROTECT, null=True, blank=True, related_name="boards")
    one_per_controller = models.BooleanField(default=False)
    front_width_mm = number("front width (mm)")
    front_height_mm = number("front height (mm)")
    depth_mm = number("depth behind the panel (mm)")
    display_digits = models.PositiveSmallIntegerField(null=True, blank=True)
    supply_kind = word_field(SupplyKind, optional=True)
    supply_low_v = number("supply from (V)")
    supply_high_v = number("supply to (V)")
    power_w = number("power taken (W)")
    ambient_max_c = number("greatest ambient (°C)")
    wires = models.PositiveSmallIntegerField(null=True, blank=True)
    limits_low = number("lower range limit")
    limits_high = number("upper range limit")
    limits_unit = text(8)
    limits_reference = text(20)
    minimum_span = number()
    accuracy = number()
    accuracy_basis = word_field(AccuracyBasis, optional=True)
    tolerance_class = text(8)
    construction = text(20)
    element_count = models.PositiveSmallIntegerField(null=True, blank=True)
    square_root = models.BooleanField("extracts the square root", null=True, blank=True)
    heat_cool = models.BooleanField("controls heating and cooling", null=True, blank=True)
    proportional_as = word_field(ProportionalAs, optional=True)
    time_unit = word_field(TimeUnit, optional=True)
    pid_form = word_field(PidForm, optional=True)
    on_rising_signal = word_field(OnRisingSignal, optional=True)
    fail_position = word_field(FailPosition, optional=True)
    series_resistance_ohm = number("end-to-end resistance (Ω)")
    isolates = models.BooleanField(null=True, blank=True)
    failure_rate_per_year = number("failures per year of service")
    failure_rate_weight_years = number("weight of that rate (years of service)")
    obsolete = models.BooleanField(default=False)
    successor = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="predecessors")
    price = number()
    lead_time_days = models.PositiveIntegerField(null=True, blank=True)
    certificate = text(80)
    protection = text(8)
    gas_group = text(4)
    temperature_class = text(4)
    simple_apparatus = models.BooleanField(default=False)
    ui_v = number("Ui (V)")
    ii_ma = number("Ii (mA)")
    pi_mw = number("Pi (mW)")
    ci_nf = number("Ci (nF)")
    li_mh = number("Li (mH)")
    uo_v = number("Uo (V)")
    io_ma = number("Io (mA)")
    po_mw = number("Po (mW)")
    co_nf = number("Co (nF)")
    lo_mh = number("Lo (mH)")
    revision = models.PositiveIntegerField(default=0, editable=False)

    objects = CatalogueModelQuerySet.as_manager()

    class Meta:
        ordering = ["maker", "name"]
        constraints = [
            models.UniqueConstraint(
                "maker",
                "name",
                name="one_catalogue_model_per_maker_and_name",
                violation_error_message="The catalogue holds a model of this maker and name already.",
            ),
            span_not_empty("limits", "catalogue_limits_not_empty"),
            models.CheckConstraint(
                name="only_an_option_board_has_a_family",
                condition=models.Q(kind=ModelKind.OPTION_BOARD, family__isnull=False)
                | (~models.Q(kind=ModelKind.OPTION_BOARD) & models.Q(family__isnull=True)),
                violation_error_message="An option board needs a board family, and nothing else has one.",
            ),
        ]
        indexes = [models.Index(Lower("name"), name="catalogue_name_lower")]

    def __str__(self) -> str:
        return f"{self.maker} {self.name}"


class ModelPort(models.Model):
    """Columns bear the names of :class:`register.plant.values.ModelPort`'s fields; purposes are joined by comma."""

    model = models.ForeignKey(CatalogueModel, models.CASCADE, related_name="ports")
    name = models.CharField(max_length=40)
    direction = word_field(Direction)
    purposes = text(160)
    terminals = text(60)
    resistance_ohm = number("input resistance (Ω)")
    max_load_ohm = number("greatest load (Ω)")
    supplies_loop = models.BooleanField("feeds a two-wire circuit", null=True, blank=True)
    isolated = models.BooleanField(null=True, blank=True)
    supply_v = number("supply given (V)")
    supply_resistance_ohm = number("source resistance (Ω)")
    supply_max_ma = number("greatest supply current (mA)")
    min_terminal_v = number("least terminal voltage (V)")
    max_terminal_v = number("greatest terminal voltage (V)")
    failure_low_ma = number("low fault current (mA)")
    failure_high_ma = number("high fault current (mA)")
    contact_v = number("contact rating (V)")
    contact_a = number("contact rating, resistive (A)")
    contact_inductive_a = number("contact rating, AC-15 or DC-13 (A)")
    leakage_ma = number("leakage when off (mA)")
    drive_v = number("logic drive (V)")
    drive_ma = number("logic drive (mA)")
    load_kind = word_field(LoadKind, optional=True)
    load_v_min = number("least switching voltage (V)")
    load_v_max = number("greatest switching voltage (V)")
    load_a = number("current taken when switched (A)")
    unit_load = number("unit loads (TIA-485-A)")
    digital_on_current = models.BooleanField("digital messages on its current", null=True, blank=True)

    class Meta:
        ordering = ["model", "pk"]
        constraints = [
            models.UniqueConstraint(
                "model",
                "name",
                "direction",
                name="one_port_of_a_name_per_model",
                violation_error_message="The model has a port of this name and direction already.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class ModelSignal(models.Model):
    """A signal that a port of a model speaks, within limits."""

    port = models.ForeignKey(ModelPort, models.CASCADE, related_name="signals")
    signal = models.CharField(max_length=20)
    limits_low = number()
    limits_high = number()
    limits_unit = text(8)
    limits_reference = text(20)

    class Meta:
        ordering = ["port", "pk"]
        constraints = [
            models.UniqueConstraint(
                "port",
                "signal",
                name="one_row_per_port_and_signal",
                violation_error_message="Each signal of a port stands once.",
            ),
            span_not_empty("limits", "model_signal_limits_not_empty"),
        ]

    def __str__(self) -> str:
        return self.signal


class Bay(models.Model):
    """A position in a controller model and the board families that it takes."""

    model = models.ForeignKey(CatalogueModel, models.CASCADE, related_name="bays")
    name = models.CharField(max_length=20)
    takes = models.ManyToManyField(BoardFamily, blank=True, related_name="bays")

    class Meta:
        ordering = ["model", "pk"]
        constraints = [
            models.UniqueConstraint(
                "model",
                "name",
                name="one_bay_of_a_name_per_model",
                violation_error_message="The model has a bay of this name already.",
            )
        ]

    def __str__(self) -> str:
        return self.name
