"""Designs of which an invented plant is built: right loops, how they came to be, and some faults.

Plants are built of typicals: a few hundred designs, each used many times. A name holds a mark where each use puts its
own number, so a design is checked once and used in a moment.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from random import Random

from msgspec.structs import replace

from register.plant import sketch
from register.plant.sketch import IN, OUT, cable, model_port, number, wire
from register.plant.values import Calibration, Link, Loop, Model, Port, SerialLine, Tag
from register.plant.words import (
    CalibrationResult,
    Criticality,
    FailPosition,
    LoadKind,
    Location,
    ModelKind,
    Parity,
    Purpose,
    Role,
    SetPointSource,
    SupplyKind,
)

MARKS = "①②③④"
"""Where the numbers of a design's loops stand in its names, the first loop's first."""
AREA = "⌂"
"""Where the path of their area stands."""
GENERATIONS = 12
"""Of each catalogue model, as makers bring out a successor every few years."""
YEARS = 2

Group = tuple[Loop, ...]
"""Loops that are joined to each other and to no other."""


@dataclass(frozen=True)
class Fault:
    """What is wrong on purpose, and what the rules must say of it: rule and subject of each finding."""

    group: Group
    found: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Step:
    """A state that a group of loops was brought to, when and why."""

    reason: str
    on: date
    group: Group


@dataclass(frozen=True)
class Typical:
    """A design: how it came to be, step by step, and what the rules must say of it as it stands."""

    steps: tuple[Step, ...]
    found: tuple[tuple[str, str], ...] = ()

    @property
    def marks(self) -> str:
        """Those that its names hold, one a loop."""
        return MARKS[: len(self.group)]

    @property
    def group(self) -> Group:
        """The loops as they stand."""
        return self.steps[-1].group

    @cached_property
    def models(self) -> tuple[Model, ...]:
        """Every catalogue model that the design ever held."""
        found: dict[Model, None] = {}
        for step in self.steps:
            for loop in step.group:
                for tag in loop.tags:
                    boards = tag.asset.boards if tag.asset else ()
                    found |= dict.fromkeys((tag.specified, tag.model, *(board.model for board in boards)))
        return tuple(model for model in found if model)


def typicals(random: Random, *, today: date) -> Iterator[Typical]:
    """Designs drawn without end; a twelfth of them has a fault. Their dates lie before ``today``."""
    while True:
        build, faults = random.choice(KINDS)
        group = tuple(_drawn(loop, random, today) for loop in build(random))
        found = ()
        if random.random() < 1 / 12:
            fault = random.choice((*faults, *FAULTS))(group)
            group, found = fault.group, fault.found
        yield Typical(_history(group, random, today), found)


# Kinds of loops, five tags each on average


def _heating(random: Random, mark: str = MARKS[0]) -> Group:
    loop = sketch.temperature_loop(
        mark, range_=random.choice(("0-100 degC", "0-150 degC", "0-200 degC", "50-250 degC"))
    )
    return (_with_annunciator(_with_recorder(loop, mark), mark),)


def _furnace(random: Random) -> Group:
    mark = MARKS[0]
    loop = sketch.thermocouple_loop(mark, range_=random.choice(("0-1000 degC", "0-800 degC", "0-1100 degC")))
    return (_with_second_valve(_with_annunciator(_with_recorder(loop, mark), mark), mark),)


def _pressure(random: Random) -> Group:
    mark = MARKS[0]
    measured = random.choice(("0-10 bar (gauge)", "0-16 bar (gauge)", "0-6 bar (gauge)", "0-4 bar (gauge)"))
    return (_with_annunciator(_with_indicator(sketch.pressure_loop(mark, range_=measured), mark), mark),)


def _heat_and_cool(_: Random) -> Group:
    return (_with_annunciator(sketch.heat_cool_loop(MARKS[0]), MARKS[0]),)


def _cascade(random: Random) -> Group:
    """An outer loop that sets the set point of an inner one."""
    outer_mark, inner_mark = MARKS[:2]
    (outer,) = _heating(random, outer_mark)
    outer_tag = outer.controllers[0]
    # The outer controller's output is the inner one's set point, so its own valve is the inner loop's.
    outer = sketch.without_tag(outer, f"TV-{outer_mark}")
    outer = sketch.with_port(outer, outer_tag.name, "Output 1", range=outer_tag.range)
    inner = sketch.temperature_loop(inner_mark, range_=str(outer_tag.range))
    inner_tag = inner.controllers[0]
    inner = sketch.with_boards(inner, inner_tag.name, bay_3=sketch.remote_set_point_board())
    inner = sketch.with_settings(
        inner,
        inner_tag.name,
        set_point_source=SetPointSource.REMOTE,
        set_point_high=inner_tag.range.high,
        integral=number(30),
        derivative=number(0),
    )
    remote = Port(
        name="Remote set point",
        direction=IN,
        purpose=Purpose.REMOTE_SET_POINT,
        signal="4-20mA",
        bay="3",
        range=inner_tag.range,
    )
    inner = sketch.with_tag(inner, inner_tag.name, ports=(*inner_tag.ports, remote))
    link = wire(
        Link(source_tag=outer_tag.name, source_port="Output 1", target_tag=inner_tag.name, target_port=remote.name),
        cable(f"C-{outer_mark}9", length_m=number(3)),
    )
    return replace(outer, links=(*outer.links, link)), _with_second_valve(
        _with_annunciator(inner, inner_mark), inner_mark
    )


def _on_a_bus(random: Random) -> Group:
    """Four loops whose controllers are on one serial bus."""
    count = 4
    made = []
    for place, mark in enumerate(MARKS[:count], start=1):
        loop = sketch.temperature_loop(mark, range_=random.choice(("0-100 degC", "0-150 degC")))
        tag = loop.controllers[0]
        line = SerialLine(
            bus=f"Bus {MARKS[0]}",
            address=place,
            baud=9600,
            parity=Parity.EVEN,
            stop_bits=1,
            mode="RTU",
            terminated=place in (1, count),
        )
        serial = Port(name="Serial", direction=IN, purpose=Purpose.SERIAL, signal="rs485", bay="3")
        loop = sketch.with_boards(loop, tag.name, bay_3=sketch.serial_board())
        loop = sketch.with_settings(loop, tag.name, serial=line)
        loop = sketch.with_tag(loop, tag.name, ports=(*loop.controllers[0].ports, serial))
        made.append(_with_second_valve(_with_annunciator(loop, mark), mark))
    return tuple(made)


def _member(loop: Loop, mark: str, letters: str, role: Role, model: Model, port: Port, asset: str) -> Tag:
    """A further tag of a loop, in the panel."""
    return Tag(
        name=f"{letters}-{mark}",
        loop=loop.number,
        role=role,
        location=Location.PANEL,
        place="Panel P1",
        asset=sketch.asset(f"A{mark}{asset}", model),
        specified=model,
        ports=(port,),
    )


def _with_recorder(loop: Loop, mark: str) -> Loop:
    """The loop's reading retransmitted to a recorder."""
    tag = loop.controllers[0]
    taken = model_port("Channel 1", IN, (Purpose.RETRANSMISSION,), "4-20mA", resistance_ohm=number(50), isolated=True)
    model = Model(maker="Fennel Row", name="Chart 6", kind=ModelKind.RECORDER, ports=(taken,))
    sent = Port(
        name="Output 3", direction=OUT, purpose=Purpose.RETRANSMISSION, signal="4-20mA", bay="3", range=tag.range
    )
    read = Port(name="Channel 1", direction=IN, purpose=Purpose.RETRANSMISSION, signal="4-20mA", range=tag.range)
    recorder = _member(loop, mark, f"{loop.number[0]}R", Role.RECORDER, model, read, "6")
    loop = sketch.with_boards(loop, tag.name, bay_3=sketch.linear_board())
    loop = sketch.with_tag(loop, tag.name, ports=(*tag.ports, sent))
    return _linked(loop, recorder, tag.name, sent, cable(f"C-{mark}6", length_m=number(3)))


def _with_indicator(loop: Loop, mark: str) -> Loop:
    """A panel indicator in series with the controller's input."""
    sender = next(tag for tag in loop.tags if tag.role == Role.TRANSMITTER)
    taken = model_port("Input", IN, (Purpose.MEASUREMENT,), "4-20mA", resistance_ohm=number(50), isolated=True)
    model = Model(maker="Fennel Row", name="Dial 4", kind=ModelKind.INDICATOR, display_digits=4, ports=(taken,))
    sent = sender.ports[0]
    read = replace(sent, name="Input", direction=IN, supplies_loop=False)
    indicator = _member(loop, mark, f"{loop.number[0]}I", Role.INDICATOR, model, read, "7")
    return _linked(loop, indicator, sender.name, sent, cable(f"C-{mark}7", length_m=number(3)))


def _with_annunciator(loop: Loop, mark: str) -> Loop:
    """A lamp window that the alarm relay switches."""
    tag = loop.controllers[0]
    taken = model_port(
        "Window", IN, (Purpose.ALARM,), "relay-contact", load_kind=LoadKind.ELECTRONIC, load_a=number("0.01"),
        load_v_min=number(20), load_v_max=number(28),
    )  # fmt: skip
    model = Model(maker="Tarn & Pell", name="Window 8", kind=ModelKind.ALARM_UNIT, ports=(taken,))
    read = Port(name="Window", direction=IN, purpose=Purpose.ALARM, signal="relay-contact")
    window = _member(loop, mark, f"{loop.number[0]}A", Role.ALARM_UNIT, model, read, "8")
    run = cable(f"C-{mark}8", length_m=number(5), screened=False, screen_earthed_at=())
    return _linked(loop, window, tag.name, tag.port("Relay 2"), run)


def _with_second_valve(loop: Loop, mark: str) -> Loop:
    """A second valve in series with the first on one output."""
    first = loop.tag(f"TV-{mark}")
    second = replace(first, name=f"TV-{mark}B", asset=sketch.asset(f"A{mark}5", sketch.valve_model()))
    return _linked(loop, second, loop.controllers[0].name, loop.controllers[0].port("Output 1"), cable(f"C-{mark}5"))


def _linked(loop: Loop, tag: Tag, source: str, sent: Port, run) -> Loop:
    """The loop with one more tag, fed by a port of another."""
    link = Link(source_tag=source, source_port=sent.name, target_tag=tag.name, target_port=tag.ports[0].name)
    return replace(loop, tags=(*loop.tags, tag), links=(*loop.links, wire(link, run)))


# What differs between two uses of one kind


def _drawn(loop: Loop, random: Random, today: date) -> Loop:
    """The loop with models of one generation, and what was done before it was taken over."""
    generation = random.randint(1, GENERATIONS)
    installed = today - timedelta(days=365 * YEARS + random.randint(30, 3000))
    calibrated = today - timedelta(days=365 * YEARS + random.randint(1, 300))
    error = Decimal(random.randint(-20, 20)) / 100
    tags = []
    for tag in loop.tags:
        specified = _of_generation(tag.specified, generation)
        boards = tuple(
            replace(board, model=_of_generation(board.model, generation), serial=f"S{tag.asset.code}-{board.bay}")
            for board in sorted(tag.asset.boards, key=lambda board: board.bay)
        )
        asset = replace(tag.asset, model=specified, installed_on=installed, boards=boards)
        tag = replace(tag, specified=specified, asset=asset, description=DESCRIPTIONS[tag.role])
        if tag.role in (Role.CONTROLLER, Role.TRANSMITTER):
            calibration = Calibration(
                on=calibrated,
                result=CalibrationResult.PASS,
                range=tag.range,
                points=5,
                both_ways=True,
                as_found_recorded=True,
                worst_error_percent=error,
                tolerance_percent=number("0.25"),
                standard_uncertainty_percent=number("0.05"),
            )
            tag = replace(tag, calibration_interval_months=12, calibration=calibration)
        tags.append(tag)
    return replace(
        loop,
        area=AREA,
        service=f"{random.choice(PLACES)} {loop.service.split()[-1]}",
        criticality=random.choice((*Criticality, Criticality.ROUTINE, Criticality.ROUTINE, Criticality.PRODUCTION)),
        tags=tuple(tags),
    )


PLACES = (
    "Evaporator", "Feed water", "Flash tank", "Header", "Heat exchanger", "Holding tube", "Mixing tank", "Preheater",
    "Reboiler", "Return line", "Scrubber", "Wash water",
)  # fmt: skip
DESCRIPTIONS = {
    Role.SENSOR: "Measures the product",
    Role.TRANSMITTER: "Sends the measured value",
    Role.CONTROLLER: "Controls and gives the alarm",
    Role.FINAL_ELEMENT: "Throttles the flow",
    Role.RECORDER: "Records the measured value",
    Role.INDICATOR: "Shows the measured value",
    Role.ALARM_UNIT: "Shows the alarm",
}


def _of_generation(model: Model, generation: int) -> Model:
    return replace(model, name=f"{model.name} mk {generation}")


def _joined(group: Group) -> Group:
    """Each loop with the links that touch it, and what it sees of the others' tags, as it is recorded."""
    tags = {tag.name: tag for loop in group for tag in loop.tags}
    links = tuple(dict.fromkeys(link for loop in group for link in loop.links))
    joined = []
    for loop in group:
        touching = tuple(
            link for link in links if loop.number in (tags[link.source_tag].loop, tags[link.target_tag].loop)
        )
        far = {name for link in touching for name in (link.source_tag, link.target_tag)}
        joined.append(
            replace(
                loop,
                tags=tuple(sorted(loop.tags, key=lambda tag: tag.name)),
                links=touching,
                neighbours=tuple(tags[name].as_neighbour() for name in sorted(far) if tags[name].loop != loop.number),
            )
        )
    return tuple(joined)


def _history(group: Group, random: Random, today: date) -> tuple[Step, ...]:
    """How the group came to be as it stands: taken over, changed now and then, calibrated in the last year."""
    taken_over = today - timedelta(days=365 * YEARS)
    calibrated = today - timedelta(days=random.randint(5, 300))
    days = (calibrated - taken_over).days
    chosen = random.sample(CHANGES, k=random.randint(0, 2))
    dates = sorted(taken_over + timedelta(days=day) for day in random.sample(range(1, days), k=len(chosen)))
    steps = [Step("Taken over from the drawings", taken_over, _joined(group))]
    for (reason, change), on in zip((*chosen, ("Yearly calibration", _calibrated)), (*dates, calibrated), strict=True):
        changed = tuple(change(loop, on) for loop in steps[-1].group)
        steps.append(Step(reason, on, _joined(changed)))
    return tuple(steps)


def _retuned(loop: Loop, on: date) -> Loop:
    tag = loop.controllers[0]
    return sketch.with_settings(loop, tag.name, proportional=tag.settings.proportional / 2)


def _alarm_reviewed(loop: Loop, on: date) -> Loop:
    tag = loop.controllers[0]
    return sketch.with_alarm(loop, tag.name, tag.alarms[0].name, deadband=tag.alarms[0].deadband * 2)


def _swapped(loop: Loop, on: date) -> Loop:
    """Another of its model in place of the first thing that holds no boards."""
    tag = next(tag for tag in loop.tags if not tag.asset.boards)
    old = tag.asset
    asset = replace(old, code=f"{old.code}N", serial=f"{old.serial}N", installed_on=on)
    return sketch.with_tag(loop, tag.name, asset=asset)


def _calibrated(loop: Loop, on: date) -> Loop:
    for tag in loop.tags:
        if tag.calibration:
            loop = sketch.with_tag(loop, tag.name, calibration=replace(tag.calibration, on=on))
    return loop


CHANGES = (
    ("Retuned after a step test", _retuned),
    ("Alarm review", _alarm_reviewed),
    ("Replaced at the shutdown", _swapped),
)


# Faults, and where the rules must find them


def _changed(group: Group, number_: str, change: Callable[[Loop], Loop]) -> Group:
    return tuple(change(loop) if loop.number == number_ else loop for loop in group)


def _with_final_element(group: Group) -> tuple[Loop, Tag]:
    return next((loop, tag) for loop in group for tag in loop.with_role(Role.FINAL_ELEMENT))


def _valve_fails_wrong_way(group: Group) -> Fault:
    loop, tag = _with_final_element(group)
    changed = sketch.with_tag(loop, tag.name, safe_position=FailPosition.OPEN)
    return Fault(_changed(group, loop.number, lambda _: changed), (("fails-to-unsafe-position", tag.name),))


def _another_model(group: Group) -> Fault:
    loop, tag = _with_final_element(group)
    other = replace(tag.model, name=f"{tag.model.name} long")
    changed = sketch.with_tag(loop, tag.name, asset=replace(tag.asset, model=other))
    return Fault(_changed(group, loop.number, lambda _: changed), (("another-model-installed", tag.name),))


def _of_controller(rule: str, change: Callable[[Loop, Tag], Loop]) -> Callable[[Group], Fault]:
    """A fault at the controller of the group's last loop."""

    def made(group: Group) -> Fault:
        *others, loop = group
        tag = loop.controllers[0]
        return Fault((*others, change(loop, tag)), ((rule, tag.name),))

    return made


def _beyond_range(loop: Loop, tag: Tag) -> Loop:
    high = tag.range.value_at(Decimal(110))
    return sketch.with_alarm(loop, tag.name, tag.alarms[0].name, set_point=high)


def _left_otherwise(loop: Loop, tag: Tag) -> Loop:
    return sketch.with_tag(loop, tag.name, as_left=replace(tag.settings, filter_s=number(20)))


def _on_24_volts(loop: Loop, tag: Tag) -> Loop:
    return sketch.with_tag(loop, tag.name, supply_kind=SupplyKind.DC, supply_v=number(24))


def _board_pulled(loop: Loop, tag: Tag) -> Loop:
    return sketch.with_boards(loop, tag.name, bay_1=None)


def _too_many_decimals(loop: Loop, tag: Tag) -> Loop:
    return sketch.with_settings(loop, tag.name, decimals=4)


def _address_used_twice(group: Group) -> Fault:
    first, second = group[0].controllers[0], group[1].controllers[0]
    line = replace(second.settings.serial, address=first.settings.serial.address)
    changed = _changed(group, second.loop, lambda loop: sketch.with_settings(loop, second.name, serial=line))
    return Fault(changed, tuple(("duplicate-address", tag.name) for tag in (first, second)))


def _scaled_differently(group: Group) -> Fault:
    """The transmitter and the indicator were ranged anew, the controller was not."""
    (loop,) = group
    sender, reader = loop.with_role(Role.TRANSMITTER)[0], loop.controllers[0]
    indicator = loop.with_role(Role.INDICATOR)[0]
    wider = dataclasses.replace(sender.range, high=sender.range.high + 2)
    loop = sketch.with_tag(loop, sender.name, calibration=replace(sender.calibration, range=wider))
    loop = sketch.with_port(loop, sender.name, "Output", range=wider)
    loop = sketch.with_port(loop, indicator.name, "Input", range=wider)
    return Fault((loop,), (("ends-scaled-differently", reader.name),))


def _wrong_extension(group: Group) -> Fault:
    (loop,) = group
    changed = sketch.with_cable(loop, loop.controllers[0].name, "Input", designation="JX")
    return Fault((changed,), (("wrong-extension-cable", loop.with_role(Role.SENSOR)[0].name),))


FAULTS = (
    _valve_fails_wrong_way,
    _another_model,
    _of_controller("alarm-outside-range", _beyond_range),
    _of_controller("left-otherwise-than-required", _left_otherwise),
    _of_controller("supply-voltage-differs", _on_24_volts),
    _of_controller("output-without-board", _board_pulled),
    _of_controller("display-cannot-show-range", _too_many_decimals),
)
KINDS: tuple[tuple[Callable[[Random], Group], tuple[Callable[[Group], Fault], ...]], ...] = (
    (_heating, ()),
    (_furnace, (_wrong_extension,)),
    (_pressure, (_scaled_differently,)),
    (_heat_and_cool, ()),
    (_cascade, ()),
    (_on_a_bus, (_address_used_twice,)),
)
"""Each kind of group, and the faults that only it can have."""
