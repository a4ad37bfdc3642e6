"""The Loop value and its parts, each frozen.

An empty string, an empty tuple and None all mean "not recorded": a rule that needs such a fact says that it is missing.
Numbers that people typed are Decimal. Units stand in the names (``_ohm``, ``_ma``); a quantity in an engineering unit
is a :class:`~register.calc.ranges.Range` or says beside it whose unit it takes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

import msgspec

from register.calc.ranges import Range
from register.plant.words import (
    AccuracyBasis,
    Action,
    AlarmKind,
    AssetState,
    CableUse,
    CalibrationResult,
    CoilState,
    ColdJunction,
    ControlForm,
    Criticality,
    Direction,
    Extreme,
    FailPosition,
    FaultDirection,
    LoadKind,
    Location,
    LoopKind,
    ModelKind,
    OnOpening,
    OnRisingSignal,
    Parity,
    PidForm,
    ProportionalAs,
    Purpose,
    Role,
    SetPointSource,
    SupplyKind,
    TimeUnit,
)


class Value(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True):
    """A frozen part of a loop. What equals its default is left out of the canonical JSON."""


# Catalogue: what a maker sells


class ModelSignal(Value):
    """A signal that a model's port can speak, and within which limits (None: the signal's own)."""

    signal: str
    limits: Range | None = None


class ModelPort(Value):
    """An input or output that a model or board has, with the electrical facts of its data sheet."""

    name: str
    direction: Direction
    purposes: tuple[Purpose, ...] = ()
    signals: tuple[ModelSignal, ...] = ()
    terminals: str = ""
    resistance_ohm: Decimal | None = None  # an input's own burden
    max_load_ohm: Decimal | None = None  # what a current output can drive
    supplies_loop: bool | None = None  # it feeds the two-wire circuit connected to it
    isolated: bool | None = None  # it floats from earth and from the other ports
    supply_v: Decimal | None = None  # voltage that a supply port gives, open circuit
    supply_resistance_ohm: Decimal | None = None  # source resistance of that supply
    supply_max_ma: Decimal | None = None
    min_terminal_v: Decimal | None = None  # what a loop-powered port needs to work
    max_terminal_v: Decimal | None = None
    failure_low_ma: Decimal | None = (
        None  # sender: its low fault current; receiver: at or below this it declares a fault
    )
    failure_high_ma: Decimal | None = None
    contact_v: Decimal | None = None
    contact_a: Decimal | None = None  # resistive rating
    contact_inductive_a: Decimal | None = None  # AC-15 or DC-13 rating (IEC 60947-5-1)
    leakage_ma: Decimal | None = None  # of a solid-state switch when off
    drive_v: Decimal | None = None  # of a logic output
    drive_ma: Decimal | None = None
    load_kind: LoadKind | None = None  # receiver of a switched output: what it is to the contact
    load_v_min: Decimal | None = None
    load_v_max: Decimal | None = None
    load_a: Decimal | None = None
    unit_load: Decimal | None = None  # of a serial port (TIA-485-A)
    digital_on_current: bool | None = None  # a sender: digital messages ride on its current

    def signal(self, key: str) -> ModelSignal | None:
        return next((offered for offered in self.signals if offered.signal == key), None)


class Bay(Value):
    """A position in a controller model, and the board families that it accepts."""

    name: str
    takes: tuple[str, ...] = ()


class ExData(Value):
    """What the certificate for hazardous areas says. The certificate itself decides."""

    certificate: str = ""
    protection: str = ""  # "ia", "ib", "ic", "d", "e", ...
    gas_group: str = ""  # "IIA", "IIB", "IIC"
    temperature_class: str = ""  # "T1" ... "T6"
    simple_apparatus: bool = False
    ui_v: Decimal | None = None
    ii_ma: Decimal | None = None
    pi_mw: Decimal | None = None
    ci_nf: Decimal | None = None
    li_mh: Decimal | None = None
    uo_v: Decimal | None = None
    io_ma: Decimal | None = None
    po_mw: Decimal | None = None
    co_nf: Decimal | None = None
    lo_mh: Decimal | None = None


class Model(Value, dict=True):
    """A catalogue model with the facts that rules and sheets need. It remembers which of its ports serves what."""

    maker: str
    name: str
    kind: ModelKind
    description: str = ""
    order_code: str = ""
    family: str = ""  # board family, of an option board
    one_per_controller: bool = False  # of an option board
    front_width_mm: Decimal | None = None
    front_height_mm: Decimal | None = None
    depth_mm: Decimal | None = None
    display_digits: int | None = None
    supply_kind: SupplyKind | None = None
    supply_low_v: Decimal | None = None
    supply_high_v: Decimal | None = None
    power_w: Decimal | None = None
    ambient_max_c: Decimal | None = None
    wires: int | None = None  # of a sensor element, or of a transmitter (2: loop powered)
    range_limits: Range | None = None  # what a sensor stands, a transmitter can be ranged within
    minimum_span: Decimal | None = None  # in the unit of range_limits
    accuracy: Decimal | None = None
    accuracy_basis: AccuracyBasis | None = None
    tolerance_class: str = ""  # "1", "2", "3", "AA", "A", "B", "C"
    construction: str = ""  # "wire wound", "film"
    element_count: int | None = None  # 2: duplex
    square_root: bool | None = None  # can extract the root
    heat_cool: bool | None = None  # can control heating and cooling
    proportional_as: ProportionalAs | None = None
    time_unit: TimeUnit | None = None
    pid_form: PidForm | None = None
    on_rising_signal: OnRisingSignal | None = None
    fail_position: FailPosition | None = None
    series_resistance_ohm: Decimal | None = None  # end to end, of a barrier
    isolates: bool | None = None  # an isolator gives its own supply and floats both sides
    failure_rate_per_year: Decimal | None = None
    obsolete: bool = False
    successor: str = ""
    ex: ExData | None = None
    ports: tuple[ModelPort, ...] = ()
    bays: tuple[Bay, ...] = ()

    def __str__(self) -> str:
        return f"{self.maker} {self.name}"

    def bay(self, name: str) -> Bay | None:
        return next((bay for bay in self.bays if bay.name == name), None)

    def port_for(self, direction: Direction, purpose: Purpose, signal: str, name: str) -> ModelPort | None:
        """The data-sheet facts behind a tag's port: by name, else the first of its direction, purpose and signal."""
        asked = (direction, purpose, signal, name)
        if asked not in self._ports_asked_for:
            same_way = [offered for offered in self.ports if offered.direction == direction]
            fitting = [
                offered
                for offered in same_way
                if purpose in offered.purposes and (not signal or offered.signal(signal))
            ]
            named = [offered for offered in fitting or same_way if offered.name == name]
            self._ports_asked_for[asked] = (named or fitting or [None])[0]
        return self._ports_asked_for[asked]

    @cached_property
    def _ports_asked_for(self) -> dict[tuple[str, ...], ModelPort | None]:
        return {}


# Assets: one physical item


class FittedBoard(Value):
    bay: str
    model: Model
    serial: str = ""


class Asset(Value):
    code: str
    serial: str
    model: Model
    state: AssetState
    installed_on: date | None = None
    boards: tuple[FittedBoard, ...] = ()

    def board_in(self, bay: str) -> FittedBoard | None:
        return next((board for board in self.boards if board.bay == bay), None)


# Tags: a place in the loop


class SerialLine(Value):
    bus: str
    address: int | None = None
    baud: int | None = None
    parity: Parity | None = None
    stop_bits: int | None = None
    mode: str = ""  # framing, e.g. "RTU"
    terminated: bool | None = None  # a terminating resistor is fitted here


class Settings(Value):
    """What a controller (or indicator) is configured to. Set points and limits take the unit of the range."""

    input_signal: str = ""
    range: Range | None = None
    decimals: int | None = None
    input_wires: int | None = None
    cold_junction: ColdJunction | None = None
    square_root: bool = False
    low_cutoff_percent: Decimal | None = None
    filter_s: Decimal | None = None
    sensor_break: FaultDirection | None = None
    fault_below_ma: Decimal | None = None  # input declares a fault at or below
    fault_above_ma: Decimal | None = None
    set_point_source: SetPointSource | None = None
    set_point: Decimal | None = None
    set_point_low: Decimal | None = None
    set_point_high: Decimal | None = None
    remote_ratio: Decimal | None = None
    remote_bias: Decimal | None = None
    working_in_local: bool = False  # left in local although a remote source is wired
    control: ControlForm | None = None
    action: Action | None = None
    proportional: Decimal | None = None
    proportional_as: ProportionalAs | None = None
    integral: Decimal | None = None
    derivative: Decimal | None = None
    time_unit: TimeUnit | None = None
    pid_form: PidForm | None = None
    output_low_percent: Decimal | None = None
    output_high_percent: Decimal | None = None
    cycle_time_s: Decimal | None = None
    serial: SerialLine | None = None


class Alarm(Value):
    """An alarm setting; set point and dead band take the unit of the tag's range (a deviation alarm: a difference)."""

    name: str
    kind: AlarmKind
    set_point: Decimal | None = None
    deadband: Decimal | None = None
    priority: str = ""
    output: str = ""  # name of the port that it drives
    coil: CoilState | None = None
    trip: bool = False
    latching: bool = False
    delay_s: Decimal | None = None
    line_monitored: bool = False
    action: str = ""  # what a person must do when it comes


class Port(Value):
    """One input or output that a tag needs. A bay names the board that must provide it; none means built in."""

    name: str
    direction: Direction
    purpose: Purpose
    signal: str = ""
    range: Range | None = None  # engineering values at 0 and 100 % of the signal
    reversed: bool = False  # 100 % of the range at the low end of the signal
    square_root: bool = False  # the root is extracted on the way to this port's signal
    bay: str = ""
    supplies_loop: bool | None = None  # overrides what the model says
    split_low_percent: Decimal | None = None  # the part of the controller's output that this port covers
    split_high_percent: Decimal | None = None
    terminals: str = ""


class Calibration(Value):
    on: date
    result: CalibrationResult
    range: Range | None = None
    points: int | None = None
    both_ways: bool | None = None
    as_found_recorded: bool | None = None
    worst_error_percent: Decimal | None = None  # of span
    tolerance_percent: Decimal | None = None
    standard_uncertainty_percent: Decimal | None = None
    readings_sha256: str = ""  # of its readings point by point, so that a revision vouches for them too


class Tag(Value):
    """A functional location. Facts about the place; what is fitted there is its asset."""

    name: str
    loop: str
    role: Role
    description: str = ""
    location: Location | None = None
    place: str = ""  # "Panel P2, row 3", "Kiln 1 north wall"
    specified: Model | None = None
    asset: Asset | None = None
    settings: Settings | None = None
    as_left: Settings | None = None
    ports: tuple[Port, ...] = ()
    alarms: tuple[Alarm, ...] = ()
    cutout_width_mm: Decimal | None = None
    cutout_height_mm: Decimal | None = None
    supply_kind: SupplyKind | None = None  # available at the place
    supply_v: Decimal | None = None
    ambient_c: Decimal | None = None  # greatest ambient at the place (a sensor's head)
    zone: str = ""  # "0", "1", "2"
    gas_group: str = ""
    ignition_c: Decimal | None = None
    fault_direction: FaultDirection | None = None  # set in a transmitter
    fail_position: FailPosition | None = None  # as built; else the model's
    on_rising_signal: OnRisingSignal | None = None
    safe_position: FailPosition | None = None  # what the process needs
    fuse: str = ""
    calibration_interval_months: int | None = None
    calibration: Calibration | None = None  # the latest

    @property
    def model(self) -> Model | None:
        """What is fitted, else what is specified."""
        return self.asset.model if self.asset else self.specified

    @property
    def range(self) -> Range | None:
        """The range that the tag works to: its settings', else its measurement port's."""
        if self.settings and self.settings.range:
            return self.settings.range
        return next((port.range for port in self.ports if port.purpose == Purpose.MEASUREMENT and port.range), None)

    def as_neighbour(self) -> Tag:
        """What another loop needs to know of it: not its alarms, its calibration or what was left in it."""
        return msgspec.structs.replace(
            self, alarms=(), as_left=None, calibration=None, calibration_interval_months=None
        )

    @property
    def bays(self) -> tuple[tuple[Bay, FittedBoard | None], ...]:
        """Each bay of the controller that is fitted, and the board in it."""
        return tuple((bay, self.asset.board_in(bay.name)) for bay in self.asset.model.bays) if self.asset else ()

    def port(self, name: str) -> Port | None:
        return next((port for port in self.ports if port.name == name), None)

    def ports_for(self, purpose: Purpose, direction: Direction | None = None) -> tuple[Port, ...]:
        return tuple(
            port
            for port in self.ports
            if port.purpose == purpose and (direction is None or port.direction == direction)
        )

    def provider(self, port: Port) -> Model | None:
        """The model that must provide a port: the board in its bay, or the tag's own model. None: nothing does."""
        if not port.bay:
            return self.model
        board = self.asset.board_in(port.bay) if self.asset else None
        return board.model if board else None

    def model_port(self, port: Port) -> ModelPort | None:
        """The data-sheet facts behind a port, of whatever provides it."""
        provider = self.provider(port)
        return provider.port_for(port.direction, port.purpose, port.signal, port.name) if provider else None


# Links


class Cable(Value):
    name: str
    use: CableUse = CableUse.INSTRUMENT
    designation: str = ""  # extension or compensating cable: "KX", "KCA"; "copper"
    cores: int | None = None
    csa_mm2: Decimal | None = None
    length_m: Decimal | None = None
    capacitance_pf_per_m: Decimal | None = None
    inductance_uh_per_m: Decimal | None = None
    temperature_max_c: Decimal | None = None
    screened: bool | None = None
    screen_earthed_at: tuple[str, ...] = ()


class Core(Value):
    """One conductor of a link between two terminals, in the order from source to target."""

    cable: Cable
    core: str
    colour: str = ""
    polarity: str = ""  # "+", "-", "compensation", "screen"
    from_place: str = ""
    from_terminal: str = ""
    to_place: str = ""
    to_terminal: str = ""


class Link(Value):
    """A connection from an output port to an input port; either end may lie in another loop."""

    source_tag: str
    source_port: str
    target_tag: str
    target_port: str
    shunt_ohm: Decimal | None = None  # resistor across the target's input
    note: str = ""
    cores: tuple[Core, ...] = ()

    @property
    def label(self) -> str:
        return f"{self.source_tag} {self.source_port} → {self.target_tag} {self.target_port}"

    @property
    def cables(self) -> tuple[Cable, ...]:
        return tuple({core.cable.name: core.cable for core in self.cores}.values())


# What is known around the loop. Never part of a revision: it changes without the loop.


class Station(Value):
    """A station of a serial bus, of this loop or another."""

    tag: str
    loop: str
    line: SerialLine
    unit_load: Decimal | None = None


class SupplyLoad(Value):
    """A circuit that a supply port feeds, of this loop or another."""

    supply_tag: str
    supply_port: str
    tag: str
    loop: str


class TerminalUse(Value):
    """A link's core on a terminal that more than one link is on, this loop's among them."""

    cable: str
    core: str
    place: str
    terminal: str
    link: str
    loop: str


class CableFill(Value):
    """How all loops use a cable: cores with a link on them, the times that links claim one, their signals."""

    cable: str
    cores_used: int
    cores_claimed: int
    signals: tuple[str, ...] = ()


class Surroundings(Value):
    """Facts of the plant that a loop's rules may look at, and the day they look."""

    today: date | None = None
    stations: tuple[Station, ...] = ()
    supply_loads: tuple[SupplyLoad, ...] = ()
    terminals: tuple[TerminalUse, ...] = ()
    cables: tuple[CableFill, ...] = ()
    spares: dict[str, int] = {}  # model → stock that could be fitted
    same_serial: dict[str, tuple[str, ...]] = {}  # asset code → other assets of that maker with its serial
    cascade: tuple[str, ...] = ()  # controller tags upstream of this loop's, nearest first; holds its own if in a ring


NOTHING_AROUND = Surroundings()
"""Left out of a loop's JSON, which goes by identity: an equal one would be written as empty."""


class SafetyFunction(Value):
    """What a trip loop claims. The safety requirements specification decides; not every trip has a target."""

    target_sil: int | None = None
    sensor_pfd: Decimal | None = None
    logic_pfd: Decimal | None = None
    final_element_failures_per_hour: Decimal | None = None  # dangerous undetected
    proof_test_interval_months: int | None = None
    last_proof_test: date | None = None
    shared_sensor_justified: str = ""


_RANGED = (Role.CONTROLLER, Role.INDICATOR, Role.ALARM_UNIT, Role.RECORDER, Role.TRANSMITTER)
"""Whose range is the loop's, the first first."""


class Loop(Value, dict=True):
    """A chain of tags. What is walked often is remembered beside the fields, so a loop is walked once for all rules."""

    number: str
    service: str = ""
    area: str = ""
    kind: LoopKind = LoopKind.CONTROL
    criticality: Criticality = Criticality.ROUTINE
    on_opening: OnOpening | None = None  # sign of the process
    danger: Extreme | None = None
    normal_value: Decimal | None = None  # these four in the unit of the loop's range
    safe_low: Decimal | None = None
    safe_high: Decimal | None = None
    required_accuracy: Decimal | None = None
    dead_time_s: Decimal | None = None
    safety: SafetyFunction | None = None
    remarks: str = ""
    tags: tuple[Tag, ...] = ()
    links: tuple[Link, ...] = ()
    neighbours: tuple[Tag, ...] = ()  # tags of other loops at the far end of a link
    surroundings: Surroundings = NOTHING_AROUND

    def tag(self, name: str) -> Tag | None:
        """A tag of this loop or a neighbour."""
        return self._tags_by_name.get(name)

    def owns(self, name: str) -> bool:
        """Whether a tag of this name is of this loop and no neighbour."""
        return any(tag.name == name for tag in self.tags)

    @cached_property
    def _tags_by_name(self) -> dict[str, Tag]:
        return {tag.name: tag for tag in reversed((*self.tags, *self.neighbours))}

    def with_role(self, *roles: Role) -> tuple[Tag, ...]:
        return tuple(tag for tag in self.tags if tag.role in roles)

    @cached_property
    def controllers(self) -> tuple[Tag, ...]:
        return self.with_role(Role.CONTROLLER)

    @cached_property
    def range(self) -> Range | None:
        """The range that the loop works to: its controller's, else that of what reads or sends its measured value."""
        ranged = [tag for tag in self.tags if tag.role in _RANGED and tag.range]
        return min(ranged, key=lambda tag: (_RANGED.index(tag.role), tag.name)).range if ranged else None

    def connections(self, purpose: Purpose | None = None) -> Iterator[Connection]:
        """Links with both of their ends, where the source or target port has the purpose."""
        return iter(self._connections if purpose is None else self._by_purpose.get(purpose, ()))

    @cached_property
    def _by_purpose(self) -> dict[Purpose, list[Connection]]:
        found: dict[Purpose, list[Connection]] = {}
        for one in self._connections:
            for purpose in {one.source.purpose, one.target.purpose}:
                found.setdefault(purpose, []).append(one)
        return found

    @cached_property
    def _connections(self) -> tuple[Connection, ...]:
        made = []
        for link in self.links:
            source_tag, target_tag = self.tag(link.source_tag), self.tag(link.target_tag)
            source = source_tag.port(link.source_port) if source_tag else None
            target = target_tag.port(link.target_port) if target_tag else None
            if source and target:
                made.append(Connection(link, source_tag, source, target_tag, target))
        return tuple(made)

    def links_into(self, tag: Tag, purpose: Purpose | None = None) -> Iterator[Connection]:
        into = self._ends.get(("into", tag.name), ())
        return (one for one in into if one.target_tag is tag and purpose in (None, one.target.purpose))

    def links_out_of(self, tag: Tag, purpose: Purpose | None = None) -> Iterator[Connection]:
        out = self._ends.get(("from", tag.name), ())
        return (one for one in out if one.source_tag is tag and purpose in (None, one.source.purpose))

    @cached_property
    def _ends(self) -> dict[tuple[str, str], list[Connection]]:
        found: dict[tuple[str, str], list[Connection]] = {}
        for one in self._connections:
            found.setdefault(("into", one.target_tag.name), []).append(one)
            found.setdefault(("from", one.source_tag.name), []).append(one)
        return found


@dataclass(frozen=True, slots=True, eq=False)
class Connection:
    """A link with its two ends at hand."""

    link: Link
    source_tag: Tag
    source: Port
    target_tag: Tag
    target: Port

    def __str__(self) -> str:
        return f"{self.source_tag.name} {self.source.name} → {self.target_tag.name} {self.target.name}"
