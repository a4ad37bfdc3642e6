"""Tiny loops for the rules' pages and the tests, and a way to change one fact of a loop.

:func:`temperature_loop` is whole and right: no rule has anything to say of it. An example of a fault is that loop with
one thing changed.
"""

from __future__ import annotations

from decimal import Decimal

from msgspec.structs import replace

from register.calc.ranges import Range, parse_range
from register.plant.values import (
    Alarm,
    Asset,
    Bay,
    Cable,
    Core,
    FittedBoard,
    Link,
    Loop,
    Model,
    ModelPort,
    ModelSignal,
    Port,
    Settings,
    Tag,
)
from register.plant.words import (
    Action,
    AlarmKind,
    AssetState,
    CableUse,
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
    PidForm,
    ProportionalAs,
    Purpose,
    Role,
    SetPointSource,
    SupplyKind,
    TimeUnit,
)

IN, OUT = Direction.IN, Direction.OUT


def span(text: str) -> Range:
    """``"0-200 degC"`` as a Range."""
    return parse_range(text)


def number(text: str | int) -> Decimal:
    return Decimal(text)


# Models of an invented maker


def model_port(name: str, direction: Direction, purposes: tuple[Purpose, ...], signals: str, **facts) -> ModelPort:
    """A port that speaks the signals, keys parted by blanks."""
    return ModelPort(
        name=name,
        direction=direction,
        purposes=purposes,
        signals=tuple(ModelSignal(signal=key) for key in signals.split()),
        **facts,
    )


def sensor_model(signal: str = "pt100", limits: str = "-50-400 degC", **facts) -> Model:
    defaults = {"wires": 3, "tolerance_class": "A", "construction": "wire wound"} if signal.startswith("pt") else {}
    return Model(
        maker="Quarrymoor",
        name=f"Probe {signal}",
        kind=ModelKind.SENSOR,
        range_limits=span(limits),
        ports=(model_port("Element", OUT, (Purpose.MEASUREMENT,), signal),),
        **(defaults | facts),
    )


def transmitter_model(**facts) -> Model:
    """A two-wire transmitter of pressure, 0 to 25 bar."""
    output = model_port(
        "Output",
        OUT,
        (Purpose.MEASUREMENT,),
        "4-20mA",
        min_terminal_v=number("10.5"),
        max_terminal_v=number(42),
        failure_high_ma=number("21.5"),
        failure_low_ma=number("3.6"),
    )
    supply = model_port("Supply", IN, (Purpose.TRANSMITTER_SUPPLY,), "24V-supply")
    defaults = {
        "wires": 2,
        "range_limits": span("0-25 bar (gauge)"),
        "minimum_span": number("0.5"),
        "accuracy": number("0.1"),
        "ports": (output, supply),
    }
    return Model(maker="Quarrymoor", name="Press 25", kind=ModelKind.TRANSMITTER, **(defaults | facts))


def linear_board(**facts) -> Model:
    port = model_port(
        "Linear",
        OUT,
        (Purpose.CONTROL, Purpose.COOLING_CONTROL, Purpose.RETRANSMISSION),
        "4-20mA 0-20mA 0-10V",
        max_load_ohm=number(600),
        isolated=True,
    )
    return Model(
        maker="Fennel Row",
        name="Linear board",
        kind=ModelKind.OPTION_BOARD,
        family="linear output",
        ports=(port,),
        **facts,
    )


def relay_board(**facts) -> Model:
    port = model_port(
        "Relay",
        OUT,
        (Purpose.CONTROL, Purpose.COOLING_CONTROL, Purpose.ALARM),
        "relay-contact",
        contact_v=number(240),
        contact_a=number(2),
        contact_inductive_a=number("0.5"),
    )
    return Model(
        maker="Fennel Row", name="Relay board", kind=ModelKind.OPTION_BOARD, family="relay", ports=(port,), **facts
    )


def ssr_board(**facts) -> Model:
    port = model_port(
        "Logic",
        OUT,
        (Purpose.CONTROL, Purpose.COOLING_CONTROL, Purpose.ALARM),
        "ssr-drive",
        drive_v=number(12),
        drive_ma=number(20),
    )
    return Model(
        maker="Fennel Row",
        name="Logic board",
        kind=ModelKind.OPTION_BOARD,
        family="solid-state-relay driver",
        ports=(port,),
        **facts,
    )


def remote_set_point_board(**facts) -> Model:
    port = model_port(
        "Remote",
        IN,
        (Purpose.REMOTE_SET_POINT,),
        "4-20mA 0-20mA 0-10V",
        resistance_ohm=number(100),
        supplies_loop=False,
        isolated=True,
    )
    return Model(
        maker="Fennel Row",
        name="Remote set-point board",
        kind=ModelKind.OPTION_BOARD,
        family="remote set point",
        one_per_controller=True,
        ports=(port,),
        **facts,
    )


def transmitter_supply_board(**facts) -> Model:
    port = model_port(
        "Supply 24 V",
        OUT,
        (Purpose.TRANSMITTER_SUPPLY,),
        "24V-supply",
        supply_v=number(24),
        supply_max_ma=number(30),
        supply_resistance_ohm=number(0),
    )
    return Model(
        maker="Fennel Row",
        name="Supply board",
        kind=ModelKind.OPTION_BOARD,
        family="transmitter supply",
        one_per_controller=True,
        ports=(port,),
        **facts,
    )


def serial_board(**facts) -> Model:
    port = model_port("Serial", IN, (Purpose.SERIAL,), "rs485", unit_load=number("0.25"))
    return Model(
        maker="Fennel Row",
        name="Serial board",
        kind=ModelKind.OPTION_BOARD,
        family="serial",
        one_per_controller=True,
        ports=(port,),
        **facts,
    )


def controller_model(**facts) -> Model:
    """A 96 × 96 mm controller with three bays."""
    measured = model_port(
        "Input",
        IN,
        (Purpose.MEASUREMENT,),
        "pt100 pt1000 tc-K tc-J tc-T tc-S 4-20mA 0-20mA 0-10V",
        resistance_ohm=number(5),
        supplies_loop=False,
        isolated=True,
    )
    outputs = ("linear output", "relay", "solid-state-relay driver")
    defaults = {
        "front_width_mm": number(96),
        "front_height_mm": number(96),
        "depth_mm": number(110),
        "display_digits": 4,
        "supply_kind": SupplyKind.AC,
        "supply_low_v": number(100),
        "supply_high_v": number(240),
        "ambient_max_c": number(55),
        "heat_cool": True,
        "square_root": True,
        "accuracy": number("0.1"),
        "proportional_as": ProportionalAs.PROPORTIONAL_BAND,
        "time_unit": TimeUnit.SECONDS,
        "pid_form": PidForm.IDEAL,
        "ports": (measured,),
        "bays": (
            Bay(name="1", takes=outputs),
            Bay(name="2", takes=(*outputs, "transmitter supply")),
            Bay(
                name="3",
                takes=tuple(sorted((*outputs, "digital input", "remote set point", "serial", "transmitter supply"))),
            ),
        ),
    }
    return Model(maker="Fennel Row", name="Regent 96", kind=ModelKind.CONTROLLER, **(defaults | facts))


def valve_model(**facts) -> Model:
    signal = model_port("Signal", IN, (Purpose.CONTROL, Purpose.COOLING_CONTROL), "4-20mA", resistance_ohm=number(250))
    defaults = {
        "on_rising_signal": OnRisingSignal.OPENS,
        "fail_position": FailPosition.CLOSED,
        "ports": (signal,),
    }
    return Model(**({"maker": "Tarn & Pell", "name": "Globe 40", "kind": ModelKind.FINAL_ELEMENT} | defaults | facts))


def heater_model(load_kind: LoadKind = LoadKind.ELECTRONIC, signal: str = "ssr-drive", **facts) -> Model:
    """A heater behind a solid-state relay or, by the arguments, a contactor."""
    ratings = {"load_v_min": number(3), "load_v_max": number(32), "load_a": number("0.012")}
    port = model_port("Drive", IN, (Purpose.CONTROL,), signal, load_kind=load_kind, **(ratings | facts))
    return Model(
        maker="Tarn & Pell",
        name="Heater pack",
        kind=ModelKind.FINAL_ELEMENT,
        fail_position=FailPosition.CLOSED,
        on_rising_signal=OnRisingSignal.OPENS,
        ports=(port,),
    )


# Loops


def asset(code: str, model: Model, *boards: FittedBoard) -> Asset:
    return Asset(code=code, serial=f"S{code}", model=model, state=AssetState.IN_SERVICE, boards=boards)


def wire(link: Link, cable: Cable, polarities: str = "+ -") -> Link:
    """The link through one cable, a core for each polarity."""
    cores = tuple(
        Core(
            cable=cable,
            core=str(position),
            polarity=polarity,
            from_place=link.source_tag,
            from_terminal=str(position),
            to_place=link.target_tag,
            to_terminal=f"{link.target_port} {position}",
        )
        for position, polarity in enumerate(polarities.split(), start=1)
    )
    return replace(link, cores=cores)


def cable(name: str, **facts) -> Cable:
    defaults = {
        "cores": 4,
        "csa_mm2": number("1.5"),
        "length_m": number(60),
        "screened": True,
        "screen_earthed_at": ("panel",),
    }
    return Cable(name=name, **(defaults | facts))


def temperature_loop(number_: str = "101", *, range_: str = "0-200 degC") -> Loop:
    """A right heating loop: Pt100 → controller with a linear board and an alarm relay → steam valve."""
    measured = span(range_)
    sensor = Tag(
        name=f"TE-{number_}",
        loop=f"T-{number_}",
        role=Role.SENSOR,
        location=Location.FIELD,
        place="Hot water tank",
        asset=asset(f"A{number_}1", sensor_model()),
        specified=sensor_model(),
        ports=(Port(name="Element", direction=OUT, purpose=Purpose.MEASUREMENT, signal="pt100"),),
    )
    boards = (
        FittedBoard(bay="1", model=linear_board()),
        FittedBoard(bay="2", model=relay_board()),
    )
    controller = Tag(
        name=f"TIC-{number_}",
        loop=f"T-{number_}",
        role=Role.CONTROLLER,
        location=Location.PANEL,
        place="Panel P1, row 2",
        asset=asset(f"A{number_}2", controller_model(), *boards),
        specified=controller_model(),
        cutout_width_mm=number(92),
        cutout_height_mm=number(92),
        supply_kind=SupplyKind.AC,
        supply_v=number(230),
        settings=Settings(
            input_signal="pt100",
            range=measured,
            decimals=1,
            input_wires=3,
            sensor_break=FaultDirection.UPSCALE,
            cold_junction=ColdJunction.INTERNAL,
            set_point_source=SetPointSource.LOCAL,
            set_point=measured.value_at(Decimal(60)),
            set_point_low=measured.low,
            set_point_high=measured.value_at(Decimal(90)),
            control=ControlForm.SINGLE,
            action=Action.REVERSE,
            proportional=number(12),
            proportional_as=ProportionalAs.PROPORTIONAL_BAND,
            integral=number(180),
            derivative=number(30),
            time_unit=TimeUnit.SECONDS,
            pid_form=PidForm.IDEAL,
            output_low_percent=number(0),
            output_high_percent=number(100),
            filter_s=number(2),
        ),
        ports=(
            Port(name="Input", direction=IN, purpose=Purpose.MEASUREMENT, signal="pt100", range=measured),
            Port(name="Output 1", direction=OUT, purpose=Purpose.CONTROL, signal="4-20mA", bay="1"),
            Port(name="Relay 2", direction=OUT, purpose=Purpose.ALARM, signal="relay-contact", bay="2"),
        ),
        alarms=(
            Alarm(
                name="Alarm 1",
                kind=AlarmKind.HIGH,
                set_point=measured.value_at(Decimal(80)),
                deadband=measured.span / 100,
                priority="high",
                output="Relay 2",
                coil=CoilState.DE_ENERGISES,
            ),
        ),
    )
    valve = Tag(
        name=f"TV-{number_}",
        loop=f"T-{number_}",
        role=Role.FINAL_ELEMENT,
        location=Location.FIELD,
        place="Hot water tank",
        asset=asset(f"A{number_}3", valve_model()),
        specified=valve_model(),
        safe_position=FailPosition.CLOSED,
        ports=(Port(name="Signal", direction=IN, purpose=Purpose.CONTROL, signal="4-20mA"),),
    )
    links = (
        wire(
            Link(source_tag=sensor.name, source_port="Element", target_tag=controller.name, target_port="Input"),
            cable(f"C-{number_}1"),
            "+ - compensation",
        ),
        wire(
            Link(source_tag=controller.name, source_port="Output 1", target_tag=valve.name, target_port="Signal"),
            cable(f"C-{number_}2"),
        ),
    )
    return Loop(
        number=f"T-{number_}",
        service="Hot water temperature",
        area="Works / Boiler house",
        kind=LoopKind.CONTROL,
        criticality=Criticality.PRODUCTION,
        on_opening=OnOpening.RISES,
        danger=Extreme.HIGH,
        tags=(sensor, controller, valve),
        links=links,
    )


def pressure_loop(number_: str = "201", *, range_: str = "0-10 bar (gauge)") -> Loop:
    """A right pressure loop: two-wire transmitter, fed by the controller's supply board."""
    base = temperature_loop(number_)
    measured = span(range_)
    transmitter = Tag(
        name=f"PT-{number_}",
        loop=f"P-{number_}",
        role=Role.TRANSMITTER,
        location=Location.FIELD,
        place="Steam header",
        asset=asset(f"A{number_}1", transmitter_model()),
        specified=transmitter_model(),
        fault_direction=FaultDirection.UPSCALE,
        ports=(
            Port(name="Output", direction=OUT, purpose=Purpose.MEASUREMENT, signal="4-20mA", range=measured),
            Port(name="Supply", direction=IN, purpose=Purpose.TRANSMITTER_SUPPLY, signal="24V-supply"),
        ),
    )
    _, old_controller, old_valve = base.tags
    controller = replace(
        old_controller,
        name=f"PIC-{number_}",
        loop=f"P-{number_}",
        settings=replace(
            old_controller.settings,
            input_signal="4-20mA",
            range=measured,
            decimals=2,
            input_wires=None,
            cold_junction=None,
            set_point=measured.value_at(Decimal(60)),
            set_point_low=measured.low,
            set_point_high=measured.value_at(Decimal(90)),
            fault_below_ma=number("3.6"),
            fault_above_ma=number("21.0"),
        ),
        asset=replace(
            old_controller.asset,
            boards=(*old_controller.asset.boards, FittedBoard(bay="3", model=transmitter_supply_board())),
        ),
        ports=(
            Port(name="Input", direction=IN, purpose=Purpose.MEASUREMENT, signal="4-20mA", range=measured),
            *old_controller.ports[1:],
            Port(name="Supply 24 V", direction=OUT, purpose=Purpose.TRANSMITTER_SUPPLY, signal="24V-supply", bay="3"),
        ),
        alarms=(
            replace(old_controller.alarms[0], set_point=measured.value_at(Decimal(80)), deadband=measured.span / 100),
        ),
    )
    valve = replace(old_valve, name=f"PV-{number_}", loop=f"P-{number_}")
    links = (
        wire(
            Link(source_tag=transmitter.name, source_port="Output", target_tag=controller.name, target_port="Input"),
            cable(f"C-{number_}1"),
        ),
        wire(
            Link(
                source_tag=controller.name, source_port="Supply 24 V", target_tag=transmitter.name, target_port="Supply"
            ),
            cable(f"C-{number_}3"),
        ),
        wire(
            Link(source_tag=controller.name, source_port="Output 1", target_tag=valve.name, target_port="Signal"),
            cable(f"C-{number_}2"),
        ),
    )
    return replace(
        base, number=f"P-{number_}", service="Steam header pressure", tags=(transmitter, controller, valve), links=links
    )


def thermocouple_loop(number_: str = "301", *, couple: str = "tc-K", input_signal: str = "tc-K") -> Loop:
    """A right furnace loop: thermocouple on its extension cable, internal cold junction."""
    loop = temperature_loop(number_, range_="0-1000 degC")
    sensor, controller, valve = loop.tags
    model = sensor_model(couple, "0-1200 degC", tolerance_class="2")
    sensor = replace(
        sensor,
        specified=model,
        asset=replace(sensor.asset, model=model),
        place="Furnace",
        ambient_c=number(60),
        ports=(replace(sensor.ports[0], signal=couple),),
    )
    controller = replace(
        controller,
        settings=replace(controller.settings, input_signal=input_signal, input_wires=None, decimals=0),
        ports=(replace(controller.ports[0], signal=input_signal), *controller.ports[1:]),
    )
    run = cable(
        f"C-{number_}1",
        use=CableUse.THERMOCOUPLE,
        designation={"tc-S": "SCA", "tc-R": "RCA", "tc-B": "BC"}.get(couple, f"{couple[3:]}X"),
        temperature_max_c=number(200),
    )
    first = replace(loop.links[0], cores=())
    return replace(
        loop,
        service="Furnace temperature",
        tags=(sensor, controller, valve),
        links=(wire(first, run), loop.links[1]),
    )


def heat_cool_loop(number_: str = "401") -> Loop:
    """A right loop that heats by a valve and cools by another, an output for each."""
    loop = temperature_loop(number_)
    sensor, controller, valve = loop.tags
    controller = replace(
        controller,
        settings=replace(controller.settings, control=ControlForm.HEAT_COOL),
        asset=replace(controller.asset, boards=(*controller.asset.boards, FittedBoard(bay="3", model=linear_board()))),
        ports=(
            *controller.ports,
            Port(name="Output 3", direction=OUT, purpose=Purpose.COOLING_CONTROL, signal="4-20mA", bay="3"),
        ),
    )
    cooling_model = valve_model(
        name="Globe 40 open", fail_position=FailPosition.OPEN, on_rising_signal=OnRisingSignal.CLOSES
    )
    cooling = replace(
        valve,
        name=f"TV-{number_}B",
        asset=asset(f"A{number_}4", cooling_model),
        specified=cooling_model,
        safe_position=FailPosition.OPEN,
        ports=(Port(name="Signal", direction=IN, purpose=Purpose.COOLING_CONTROL, signal="4-20mA"),),
    )
    link = wire(
        Link(source_tag=controller.name, source_port="Output 3", target_tag=cooling.name, target_port="Signal"),
        cable(f"C-{number_}4"),
    )
    return replace(loop, tags=(sensor, controller, valve, cooling), links=(*loop.links, link))


def cascade(*, source_range: str = "0-200 degC", target_range: str = "0-200 degC") -> Loop:
    """A right heating loop whose set point comes from a controller of another loop, by 4–20 mA."""
    loop = temperature_loop("102", range_=target_range)
    master = temperature_loop("110").controllers[0]
    master = replace(
        master,
        ports=(
            master.ports[0],
            Port(
                name="Output 1",
                direction=OUT,
                purpose=Purpose.CONTROL,
                signal="4-20mA",
                bay="1",
                range=span(source_range),
            ),
        ),
    )
    controller = loop.controllers[0]
    controller = replace(
        controller,
        asset=replace(
            controller.asset, boards=(*controller.asset.boards, FittedBoard(bay="3", model=remote_set_point_board()))
        ),
        settings=replace(
            controller.settings,
            set_point_source=SetPointSource.REMOTE,
            set_point_high=span(target_range).high,
            integral=number(30),
            derivative=number(0),
        ),
        ports=(
            *controller.ports,
            Port(
                name="Remote set point",
                direction=IN,
                purpose=Purpose.REMOTE_SET_POINT,
                signal="4-20mA",
                bay="3",
                range=span(target_range),
            ),
        ),
    )
    link = wire(
        Link(
            source_tag=master.name, source_port="Output 1", target_tag=controller.name, target_port="Remote set point"
        ),
        cable("C-1103", length_m=number(3)),
    )
    return replace(loop, tags=(loop.tags[0], controller, loop.tags[2]), neighbours=(master,), links=(*loop.links, link))


# Changing one fact


def with_tag(loop: Loop, name: str, /, **facts) -> Loop:
    """The loop with facts of one tag changed, a neighbour's included."""

    def changed(tags):
        return tuple(replace(tag, **facts) if tag.name == name else tag for tag in tags)

    return replace(loop, tags=changed(loop.tags), neighbours=changed(loop.neighbours))


def renamed(loop: Loop, old: str, new: str) -> Loop:
    """The loop with a tag under another name, its links too."""
    links = tuple(
        replace(
            link,
            source_tag=new if link.source_tag == old else link.source_tag,
            target_tag=new if link.target_tag == old else link.target_tag,
        )
        for link in loop.links
    )
    return replace(with_tag(loop, old, name=new), links=links)


def with_settings(loop: Loop, name: str, **settings) -> Loop:
    return with_tag(loop, name, settings=replace(loop.tag(name).settings, **settings))


def with_port(loop: Loop, tag: str, port: str, /, **facts) -> Loop:
    ports = tuple(replace(one, **facts) if one.name == port else one for one in loop.tag(tag).ports)
    return with_tag(loop, tag, ports=ports)


def with_model(loop: Loop, tag: str, /, **facts) -> Loop:
    """The loop with facts of a tag's model changed, fitted and specified alike."""
    one = loop.tag(tag)
    model = replace(one.model, **facts)
    return with_tag(loop, tag, specified=model, asset=replace(one.asset, model=model) if one.asset else None)


def with_boards(loop: Loop, tag: str, **boards: Model | None) -> Loop:
    """The loop with boards by bay, as ``bay_1=relay_board()``; None empties the bay."""
    fitted = {board.bay: board for board in loop.tag(tag).asset.boards}
    for key, model in boards.items():
        bay = key.removeprefix("bay_")
        if model is None:
            fitted.pop(bay, None)
        else:
            fitted[bay] = FittedBoard(bay=bay, model=model)
    return with_tag(loop, tag, asset=replace(loop.tag(tag).asset, boards=tuple(fitted.values())))


def with_alarm(loop: Loop, tag: str, alarm: str, /, **facts) -> Loop:
    alarms = tuple(replace(one, **facts) if one.name == alarm else one for one in loop.tag(tag).alarms)
    return with_tag(loop, tag, alarms=alarms)


def with_link(loop: Loop, target_tag: str, target_port: str, **facts) -> Loop:
    links = tuple(
        replace(link, **facts) if (link.target_tag, link.target_port) == (target_tag, target_port) else link
        for link in loop.links
    )
    return replace(loop, links=links)


def with_cable(loop: Loop, target_tag: str, target_port: str, /, **facts) -> Loop:
    """The loop with facts changed of the cable that runs to a port."""
    link = next(one for one in loop.links if (one.target_tag, one.target_port) == (target_tag, target_port))
    cores = tuple(replace(core, cable=replace(core.cable, **facts)) for core in link.cores)
    return with_link(loop, target_tag, target_port, cores=cores)


def without_link(loop: Loop, target_tag: str, target_port: str) -> Loop:
    return replace(
        loop,
        links=tuple(link for link in loop.links if (link.target_tag, link.target_port) != (target_tag, target_port)),
    )


def with_surroundings(loop: Loop, **facts) -> Loop:
    return replace(loop, surroundings=replace(loop.surroundings, **facts))
