"""Areas, loops, tags, ports, alarms and settings: the places of the plant and what each needs."""

from __future__ import annotations

from datetime import date, timedelta

from django.db import models
from django.db.models import Case, ExpressionWrapper, F, OuterRef, Prefetch, Q, Subquery, Value, When
from django.db.models.functions import Concat, Upper

from register.models import searching
from register.models.catalogue import BoardFamily, CatalogueModel
from register.models.fields import name_field, span_not_empty, text, word_field
from register.models.fields import number as number_field
from register.plant.words import (
    Action,
    AlarmKind,
    CoilState,
    ColdJunction,
    ControlForm,
    Criticality,
    Direction,
    Extreme,
    FailPosition,
    FaultDirection,
    Location,
    LoopKind,
    OnOpening,
    OnRisingSignal,
    Parity,
    PidForm,
    ProportionalAs,
    Purpose,
    Role,
    SetPointSource,
    Severity,
    SupplyKind,
    TimeUnit,
)

OPEN_COUNTERS = {Severity.ERROR: "open_errors", Severity.WARNING: "open_warnings", Severity.ADVICE: "open_advice"}
WORST = {**{column: str(word) for word, column in OPEN_COUNTERS.items()}, "open_unknowns": "unknown"}
"""By the counter of a loop's open findings, what the worst of them is called; the worst first."""
NO_FINDING = "none"


class AreaQuerySet(models.QuerySet):
    def within(self, area: Area) -> AreaQuerySet:
        """The area and all below it."""
        return self.filter(Q(pk=area.pk) | Q(path__startswith=f"{area.path} / "))


class Area(models.Model):
    """A node of the plant's hierarchy. Its path is the names from the root, kept by the service that writes it."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    parent = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="children")
    path = models.CharField(max_length=400, unique=True, editable=False)
    zone = text(4)
    gas_group = text(4)
    ignition_c = number_field("ignition temperature (°C)")
    ambient_max_c = number_field("greatest ambient (°C)")

    objects = AreaQuerySet.as_manager()

    class Meta:
        ordering = ["path"]

    def __str__(self) -> str:
        return self.path

    @property
    def below_the_root(self) -> str:
        """Its path without the name of the whole, for a narrow column."""
        return self.path.partition(" / ")[2] or self.path


class LoopQuerySet(models.QuerySet):
    def in_service(self) -> LoopQuerySet:
        return self.filter(retired_on__isnull=True)

    def in_area(self, area: Area) -> LoopQuerySet:
        return self.filter(area__in=Area.objects.within(area))

    def matching(self, words: str) -> LoopQuerySet:
        """Loops with the words in their number or service, a tag's name or an installed serial number."""
        words = words.strip()
        if not words:
            return self
        tags = searching.keys(Tag, words, "name")
        of_tags = Tag.objects.filter(pk__in=tags).order_by().values_list("loop_id", flat=True)
        by = [searching.follow(of_tags, tags), *_by_serial(words, "tag__loop_id")]
        return self.filter(searching.matches(Loop, words, "number", "service", or_by=by))

    def named(self, words: str) -> LoopQuerySet:
        """Loops with the words in their number or service."""
        return self.filter(searching.matches(Loop, words, "number", "service"))

    def where_stands(self, asset) -> LoopQuerySet:
        """The loop at one of whose tags an asset is installed, by itself or as a board in its controller."""
        installed = Q(tags__installations__to_date__isnull=True, tags__installations__asset=asset)
        fitted = Q(
            tags__installations__to_date__isnull=True,
            tags__installations__asset__board_fittings__to_date__isnull=True,
            tags__installations__asset__board_fittings__board=asset,
        )
        return self.filter(installed | fitted).distinct()

    def waiting_for_issue(self) -> LoopQuerySet:
        """Loops whose sheet as they stand is not issued, each with its ``turn``: what is to be done next.

        Besides: ``issued`` and ``issued_revision``, the numbers of its last issue and of what that shows, and
        ``issues_under_way``, the issue on its way, if there is one.
        """
        from register.models.issues import IssueState, SheetIssue

        issues = SheetIssue.objects.filter(loop=OuterRef("pk"))
        last, under_way = issues.approved().order_by("-number"), issues.under_way()
        current = Q(under_way_revision=F("revision"))
        return (
            self.annotate(
                issued=Subquery(last.values("number")[:1]),
                issued_revision=Subquery(last.values("revision__number")[:1]),
                under_way_state=Subquery(under_way.values("state")[:1]),
                under_way_revision=Subquery(under_way.values("revision__number")[:1]),
            )
            .annotate(
                turn=Case(
                    When(Q(under_way_state=IssueState.DRAFTED) & current, then=Value("check")),
                    When(Q(under_way_state=IssueState.CHECKED) & current, then=Value("approve")),
                    When(issued_revision=F("revision"), then=Value("")),
                    default=Value("draft"),
                )
            )
            .exclude(turn="")
            .filter(revision__gt=0)
            .select_related("area")
            .prefetch_related(Prefetch("issues", SheetIssue.objects.under_way().listed(), "issues_under_way"))
        )

    def with_worst(self, word: str) -> LoopQuerySet:
        """Loops whose worst open finding that no concession covers is called so: see WORST and NO_FINDING."""
        counters = list(WORST)
        place = list(WORST.values()).index(word) if word != NO_FINDING else len(counters)
        found = self.filter(**dict.fromkeys(counters[:place], 0))
        return found.filter(**{f"{counters[place]}__gt": 0}) if place < len(counters) else found


class Loop(models.Model):
    """Columns bear the names of :class:`register.plant.values.Loop`'s fields.

    ``revision`` is the number of its latest revision, which a form carries to notice a change made meanwhile; the
    counters of open findings are kept by the service that checks it, so that lists need no join.
    """

    number = name_field()
    service = models.CharField(max_length=200, blank=True)
    area = models.ForeignKey(Area, models.PROTECT, related_name="loops")
    kind = word_field(LoopKind, default=LoopKind.CONTROL)
    criticality = word_field(Criticality, default=Criticality.ROUTINE)
    on_opening = word_field(OnOpening, optional=True, verbose_name="as the final element opens, the measured value")
    danger = word_field(Extreme, optional=True, verbose_name="the danger lies")
    normal_value = number_field()
    safe_low = number_field("lower safe limit")
    safe_high = number_field("upper safe limit")
    required_accuracy = number_field()
    dead_time_s = number_field("dead time (s)")
    remarks = models.TextField(blank=True)
    target_sil = models.PositiveSmallIntegerField("target SIL", null=True, blank=True)
    sensor_pfd = number_field("PFD of the sensor part")
    logic_pfd = number_field("PFD of the logic part")
    final_element_failures_per_hour = number_field("dangerous undetected failures of the final element per hour")
    proof_test_interval_months = models.PositiveSmallIntegerField(null=True, blank=True)
    last_proof_test = models.DateField(null=True, blank=True)
    shared_sensor_justified = text(200)
    retired_on = models.DateField(null=True, blank=True)
    revision = models.PositiveIntegerField(default=0, editable=False)
    checked_at = models.DateTimeField(null=True, editable=False)
    open_errors = models.PositiveIntegerField(default=0, editable=False)
    open_warnings = models.PositiveIntegerField(default=0, editable=False)
    open_advice = models.PositiveIntegerField(default=0, editable=False)
    open_unknowns = models.PositiveIntegerField(default=0, editable=False)
    completeness_percent = models.PositiveSmallIntegerField(default=0, editable=False)

    objects = LoopQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        indexes = [
            models.Index("area", "number", name="loop_area_number"),
            models.Index("open_errors", name="loop_open_errors", condition=Q(open_errors__gt=0)),
            models.Index("open_warnings", name="loop_open_warnings", condition=Q(open_warnings__gt=0)),
            models.Index(Upper("number"), name="loop_number_upper"),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def open_findings(self) -> dict[str, int]:
        """How many findings are open that no concession sets aside, by severity; "unknown": rules that cannot tell."""
        return {word: getattr(self, column) for word, column in OPEN_COUNTERS.items()} | {"unknown": self.open_unknowns}


class GapQuerySet(models.QuerySet):
    def count_by_item(self) -> dict[str, int]:
        """For how many loops in service each item has a gap."""
        counted = self.filter(loop__retired_on__isnull=True).order_by().values_list("item")
        return dict(counted.annotate(loops=models.Count("loop", distinct=True)))


class Gap(models.Model):
    """A fact that a loop's record lacks; see :mod:`register.plant.completeness`. Kept by the service that checks it."""

    loop = models.ForeignKey(Loop, models.CASCADE, related_name="gaps")
    item = models.CharField(max_length=40)
    where = models.CharField(max_length=260)

    objects = GapQuerySet.as_manager()

    class Meta:
        ordering = ["loop", "item", "where"]
        constraints = [models.UniqueConstraint("loop", "item", "where", name="a_gap_is_noted_once")]
        indexes = [models.Index("item", "loop", name="gap_item")]

    def __str__(self) -> str:
        return f"{self.item} at {self.where}"


SOON = timedelta(days=30)
"""So far ahead a due date is worth a look."""

CALIBRATED = Q(calibration_interval_months__gt=0, retired_on__isnull=True)
"""Tags that are calibrated at intervals."""


class TagQuerySet(models.QuerySet):
    def in_service(self) -> TagQuerySet:
        return self.filter(retired_on__isnull=True)

    def with_installed(self) -> TagQuerySet:
        """Each tag with ``installed_model``, ``installed_serial`` and its loop and area at hand."""
        from register.models.assets import Installation

        current = Installation.objects.current().filter(tag=OuterRef("pk"))
        return self.select_related("loop__area", "specified").annotate(
            installed_model=Subquery(
                current.values(named=Concat("asset__model__maker", Value(" "), "asset__model__name"))[:1]
            ),
            installed_serial=Subquery(current.values("asset__serial")[:1]),
        )

    def calibrated(self) -> TagQuerySet:
        """Tags that are calibrated at intervals; a due date that is empty says that it never was."""
        return self.filter(CALIBRATED, loop__retired_on__isnull=True)

    def due_by(self, day: date) -> TagQuerySet:
        """Of those, what is due on a day or before, or was never calibrated."""
        return self.calibrated().filter(Q(calibration_due_on__isnull=True) | Q(calibration_due_on__lte=day))

    def overdue(self, today: date) -> TagQuerySet:
        """Of those, what was due before today or was never calibrated."""
        return self.due_by(today - timedelta(days=1))

    def due_soon(self, today: date) -> TagQuerySet:
        """Of those, what falls due from today on, within :data:`SOON`."""
        return self.calibrated().filter(calibration_due_on__range=(today, today + SOON))

    def by_due_date(self) -> TagQuerySet:
        """The most urgent first, each with ``last_on``, ``last_result`` and ``last_pk`` of its last calibration."""
        from register.models.records import Calibration

        latest = Calibration.objects.filter(tag=OuterRef("pk")).order_by("-on", "-pk")
        return (
            self.select_related("loop__area")
            .annotate(**{f"last_{name}": Subquery(latest.values(name)[:1]) for name in ("on", "result", "pk")})
            .order_by(F("calibration_due_on").asc(nulls_first=True), "name")
        )

    def named(self, words: str) -> TagQuerySet:
        """Tags with the words in their name or description."""
        return self.filter(searching.matches(Tag, words, "name", "description"))

    def that_use(self, model: CatalogueModel) -> TagQuerySet:
        """Tags that a model is specified for (``is_specified``), stands at (``is_installed``) or is a board at.

        A board's come with the code of one ``controller`` and its ``bay``.
        """
        from register.models.assets import BoardFitting, Installation

        current = Installation.objects.current()
        stands = Q(pk__in=current.filter(asset__model=model).values("tag"))
        fitted = BoardFitting.objects.current().filter(model=model)
        carries = Q(pk__in=current.filter(asset__in=fitted.values("controller")).values("tag"))
        here = Q(controller__installations__tag=OuterRef("pk"), controller__installations__to_date__isnull=True)
        at_tag = fitted.filter(here).order_by("bay")
        specified = Q(specified=model)
        return (
            self.filter(stands | carries | specified)
            .select_related("loop__area")
            .annotate(
                is_specified=ExpressionWrapper(specified, models.BooleanField()),
                is_installed=ExpressionWrapper(stands | carries, models.BooleanField()),
                controller=Subquery(at_tag.values("controller__code")[:1]),
                bay=Subquery(at_tag.values("bay")[:1]),
            )
        )

    def matching(self, words: str) -> TagQuerySet:
        """Tags with the words in their name, description or installed serial number."""
        words = words.strip()
        if not words:
            return self
        return self.filter(searching.matches(Tag, words, "name", "description", or_by=_by_serial(words, "tag_id")))


def _by_serial(words: str, key: str) -> list[searching.Keys]:
    """Keys that hang on what is installed with the words in its serial number; few characters say nothing of it."""
    from register.models.assets import Asset, Installation

    if len(words) < searching.SHORTEST:
        return []
    assets = searching.keys(Asset, words, "serial")
    there = Installation.objects.current().filter(asset__in=assets).order_by().values_list(key, flat=True)
    return [searching.follow(there, assets)]


class Tag(models.Model):
    """A functional location. Columns bear the names of :class:`register.plant.values.Tag`'s fields."""

    name = name_field()
    loop = models.ForeignKey(Loop, models.PROTECT, related_name="tags")
    role = word_field(Role)
    description = text(200)
    location = word_field(Location, optional=True)
    place = text()
    specified = models.ForeignKey(CatalogueModel, models.PROTECT, null=True, blank=True, related_name="specified_for")
    cutout_width_mm = number_field("cut-out width (mm)")
    cutout_height_mm = number_field("cut-out height (mm)")
    supply_kind = word_field(SupplyKind, optional=True)
    supply_v = number_field("supply available (V)")
    ambient_c = number_field("greatest ambient (°C)")
    zone = text(4)
    gas_group = text(4)
    ignition_c = number_field("ignition temperature (°C)")
    fault_direction = word_field(FaultDirection, optional=True)
    fail_position = word_field(FailPosition, optional=True)
    on_rising_signal = word_field(OnRisingSignal, optional=True)
    safe_position = word_field(FailPosition, optional=True)
    fuse = text(20)
    calibration_interval_months = models.PositiveSmallIntegerField(null=True, blank=True)
    calibration_due_on = models.DateField(null=True, blank=True, editable=False)  # kept by services.checking
    retired_on = models.DateField(null=True, blank=True)

    objects = TagQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        indexes = [
            models.Index(Upper("name"), name="tag_name_upper"),
            models.Index("calibration_due_on", "name", condition=CALIBRATED, name="tag_calibration_due"),
        ]

    def __str__(self) -> str:
        return self.name

    def families_taken_by(self, bay: str) -> models.QuerySet[BoardFamily]:
        """The board families that a bay of the controller installed here takes."""
        return BoardFamily.objects.filter(
            bays__name=bay,
            bays__model__assets__installations__tag=self,
            bays__model__assets__installations__to_date__isnull=True,
        )


class Port(models.Model):
    """Columns bear the names of :class:`register.plant.values.Port`'s fields."""

    tag = models.ForeignKey(Tag, models.CASCADE, related_name="ports")
    name = models.CharField(max_length=40)
    direction = word_field(Direction)
    purpose = word_field(Purpose)
    signal = text(20)
    range_low = number_field()
    range_high = number_field()
    range_unit = text(8)
    range_reference = text(20)
    reversed = models.BooleanField(default=False)
    square_root = models.BooleanField(default=False)
    bay = text(20)
    supplies_loop = models.BooleanField(null=True, blank=True)
    split_low_percent = number_field("covers the output from (%)")
    split_high_percent = number_field("covers the output to (%)")
    terminals = text(60)

    class Meta:
        ordering = ["tag", "pk"]
        constraints = [
            models.UniqueConstraint("tag", "name", name="one_port_of_a_name_per_tag"),
            span_not_empty("range", "port_range_not_empty"),
        ]

    def __str__(self) -> str:
        return f"{self.tag} {self.name}"


class SettingsKind(models.TextChoices):
    REQUIRED = "required"
    AS_LEFT = "as left"


class Settings(models.Model):
    """Columns bear the names of :class:`register.plant.values.Settings`' fields; the serial line's have a prefix."""

    tag = models.ForeignKey(Tag, models.CASCADE, related_name="settings_rows")
    kind = models.CharField(max_length=10, choices=SettingsKind, default=SettingsKind.REQUIRED)
    input_signal = text(20)
    range_low = number_field()
    range_high = number_field()
    range_unit = text(8)
    range_reference = text(20)
    decimals = models.PositiveSmallIntegerField(null=True, blank=True)
    input_wires = models.PositiveSmallIntegerField(null=True, blank=True)
    cold_junction = word_field(ColdJunction, optional=True)
    square_root = models.BooleanField("extracts the square root", default=False)
    low_cutoff_percent = number_field("low-flow cut-off (%)")
    filter_s = number_field("input filter (s)")
    sensor_break = word_field(FaultDirection, optional=True)
    fault_below_ma = number_field("fault at or below (mA)")
    fault_above_ma = number_field("fault at or above (mA)")
    set_point_source = word_field(SetPointSource, optional=True)
    set_point = number_field()
    set_point_low = number_field("lower set-point limit")
    set_point_high = number_field("upper set-point limit")
    remote_ratio = number_field("remote set-point ratio")
    remote_bias = number_field("remote set-point bias")
    working_in_local = models.BooleanField(default=False)
    control = word_field(ControlForm, optional=True)
    action = word_field(Action, optional=True)
    proportional = number_field()
    proportional_as = word_field(ProportionalAs, optional=True)
    integral = number_field()
    derivative = number_field()
    time_unit = word_field(TimeUnit, optional=True)
    pid_form = word_field(PidForm, optional=True, verbose_name="PID form")
    output_low_percent = number_field("output low limit (%)")
    output_high_percent = number_field("output high limit (%)")
    cycle_time_s = number_field("cycle time (s)")
    serial_bus = text(40)
    serial_address = models.PositiveSmallIntegerField(null=True, blank=True)
    serial_baud = models.PositiveIntegerField(null=True, blank=True)
    serial_parity = word_field(Parity, optional=True)
    serial_stop_bits = models.PositiveSmallIntegerField(null=True, blank=True)
    serial_mode = text(20)
    serial_terminated = models.BooleanField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint("tag", "kind", name="one_settings_row_of_a_kind_per_tag"),
            span_not_empty("range", "settings_range_not_empty"),
        ]
        indexes = [models.Index("serial_bus", name="settings_serial_bus", condition=~Q(serial_bus=""))]
        verbose_name_plural = "settings"

    def __str__(self) -> str:
        return f"{self.tag} {self.kind}"


class Alarm(models.Model):
    """Columns bear the names of :class:`register.plant.values.Alarm`'s fields."""

    tag = models.ForeignKey(Tag, models.CASCADE, related_name="alarms")
    name = models.CharField(max_length=40)
    kind = word_field(AlarmKind)
    set_point = number_field()
    deadband = number_field("dead band")
    priority = text(20)
    output = models.ForeignKey(Port, models.SET_NULL, null=True, blank=True, related_name="alarms")
    coil = word_field(CoilState, optional=True, verbose_name="on alarm the coil")
    trip = models.BooleanField(default=False)
    latching = models.BooleanField(default=False)
    delay_s = number_field("delay (s)")
    line_monitored = models.BooleanField(default=False)
    action = text(200)

    class Meta:
        ordering = ["tag", "pk"]
        constraints = [models.UniqueConstraint("tag", "name", name="one_alarm_of_a_name_per_tag")]

    def __str__(self) -> str:
        return f"{self.tag} {self.name}"


class LinkQuerySet(models.QuerySet):
    def between_loops(self, loop: Loop) -> LinkQuerySet:
        """Links that join a loop to others, with both ends at hand."""
        out, into = Q(source__tag__loop=loop), Q(target__tag__loop=loop)
        return self.filter((out | into) & ~(out & into)).select_related("source__tag__loop", "target__tag__loop")

    def of_tag(self, tag: Tag) -> LinkQuerySet:
        """Links from or to a tag, with both ends at hand."""
        return self.filter(Q(source__tag=tag) | Q(target__tag=tag)).select_related("source__tag", "target__tag")


class Link(models.Model):
    """From an output to an input; an input is fed by one output only."""

    source = models.ForeignKey(Port, models.PROTECT, related_name="links_out")
    target = models.OneToOneField(Port, models.PROTECT, related_name="link_in")
    shunt_ohm = number_field("resistor across the input (Ω)")
    note = text(200)

    objects = LinkQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="link_joins_two_ports",
                condition=~Q(source=F("target")),
                violation_error_message="A port cannot be linked to itself.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.source} → {self.target}"
