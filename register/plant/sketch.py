"""Tiny loops for the rules' pages and the tests, and a way to change one fact of a loop.

:func:`temperature_loop` is whole and right: no rule has anything to say of it. An example of a fault is that loop with
one thing changed.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from msgspec.structs import replace

from register.calc.ranges import Range, parse_range
from register.plant.values import (
    Alarm,
    Asset,
    Bay,
    Cable,
    Calibration,
    Core,
    ExData,
    FittedBoard,
    Link,
    Loop,
    Model,
    ModelPort,
    ModelSignal,
    Port,
    SafetyFunction,
    SerialLine,
    Settings,
    Station,
    Tag,
)
from register.plant.words import (
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

IN, OUT = Direction.IN, Direction.OUT


def span(text: str) -> Range:
    """``"0-200 degC"`` as a Range."""
    return parse_range(text)


def number(text: str | int) -> Decimal:
    return Decimal(text)


def day(text: str) -> date:
    """``"2026-03-01"`` as a date."""
    return date.fromisoformat(text)


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
    return Model(**({"maker": "Quarrymoor", "name": "Press 25", "kind": ModelKind.TRANSMITTER} | defaults | facts))


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
    return Model(**({"maker": "Fennel Row", "name": "Regent 96", "kind": ModelKind.CONTROLLER} | defaults | facts))


def valve_model(**facts) -> Model:
    signal = model_port(
        "Signal", IN, (Purpose.CONTROL, Purpose.COOLING_CONTROL), "4-20mA", resistance_ohm=number(250), isolated=True
    )
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


def thermocouple_loop(
    number_: str = "301", *, couple: str = "tc-K", input_signal: str = "tc-K", range_: str = "0-1000 degC"
) -> Loop:
    """A right furnace loop: thermocouple on its extension cable, internal cold junction."""
    loop = temperature_loop(number_, range_=range_)
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


def type_b_loop() -> Loop:
    """A right furnace loop that works from 900 to 1500 °C by a type B couple."""
    loop = thermocouple_loop("302", couple="tc-B", input_signal="tc-B", range_="0-1600 degC")
    loop = with_model(loop, "TE-302", range_limits=span("0-1700 degC"), tolerance_class="")
    (measured,) = loop.controllers[0].model.ports
    taken = replace(measured, signals=(*measured.signals, ModelSignal(signal="tc-B")))
    return with_model(loop, "TIC-302", ports=(taken,))


def platinum_loop(element: str) -> Loop:
    """A heating loop whose platinum element may be of another curve than its input."""
    loop = with_model(temperature_loop(range_="0-400 degC"), "TE-101", name=f"Probe {element}")
    ports = (model_port("Element", OUT, (Purpose.MEASUREMENT,), element),)
    return with_port(with_model(loop, "TE-101", ports=ports), "TE-101", "Element", signal=element)


def with_input_limits(loop: Loop, tag: str, signal: str, limits: str) -> Loop:
    """The loop with what the model's first port measures of a signal stated."""
    first, *others = loop.tag(tag).model.ports
    signals = tuple(replace(one, limits=span(limits)) if one.signal == signal else one for one in first.signals)
    return with_model(loop, tag, ports=(replace(first, signals=signals), *others))


def two_wire_pt_loop(*, signal: str) -> Loop:
    """A platinum element on two wires, 20 m of 0.5 mm²; right for a Pt1000."""
    loop = temperature_loop()
    sensor, controller, valve = loop.tags
    model = sensor_model(signal, wires=2, tolerance_class="B")
    sensor = replace(
        sensor,
        specified=model,
        asset=replace(sensor.asset, model=model),
        ports=(replace(sensor.ports[0], signal=signal),),
    )
    controller = replace(
        controller,
        settings=replace(controller.settings, input_signal=signal, input_wires=2),
        ports=(replace(controller.ports[0], signal=signal), *controller.ports[1:]),
    )
    run = cable("C-1011", csa_mm2=number("0.5"), length_m=number(20))
    return replace(
        loop, tags=(sensor, controller, valve), links=(wire(replace(loop.links[0], cores=()), run), loop.links[1])
    )


def accuracy_loop(*, required: str = "1.0", tolerance_class: str = "A") -> Loop:
    """A loop that must be good to so much at 200 °C; right with a class A element and 1.0 °C."""
    loop = replace(temperature_loop(range_="0-400 degC"), required_accuracy=number(required), normal_value=number(200))
    return with_model(loop, "TE-101", tolerance_class=tolerance_class)


def flow_loop(*, root_in_transmitter: bool = False, root_in_controller: bool = True) -> Loop:
    """A flow measured as differential pressure; right when the root is extracted once."""
    loop = pressure_loop("501", range_="0-250 mbar (differential)")
    transmitter, controller, valve = loop.tags
    flow = span("0-120 m3/h")
    model = transmitter_model(name="Head 500", range_limits=span("0-500 mbar (differential)"), minimum_span=number(25))
    transmitter = replace(
        transmitter,
        name="FT-501",
        loop="F-501",
        specified=model,
        asset=replace(transmitter.asset, model=model),
        ports=(replace(transmitter.ports[0], square_root=root_in_transmitter), transmitter.ports[1]),
    )
    controller = replace(
        controller,
        name="FIC-501",
        loop="F-501",
        settings=replace(
            controller.settings,
            range=flow,
            square_root=root_in_controller,
            low_cutoff_percent=number(6),
            decimals=1,
            set_point=number(70),
            set_point_low=flow.low,
            set_point_high=number(110),
        ),
        ports=(replace(controller.ports[0], range=flow), *controller.ports[1:]),
        alarms=(replace(controller.alarms[0], set_point=number(100), deadband=number(5)),),
    )
    renamed_links = tuple(
        replace(
            link,
            source_tag=link.source_tag.replace("PT", "FT").replace("PIC", "FIC").replace("PV", "FV"),
            target_tag=link.target_tag.replace("PT", "FT").replace("PIC", "FIC").replace("PV", "FV"),
        )
        for link in loop.links
    )
    valve = replace(valve, name="FV-501", loop="F-501")
    return replace(
        loop, number="F-501", service="Brine flow", tags=(transmitter, controller, valve), links=renamed_links
    )


def digital_select_loop() -> Loop:
    """A right loop whose set point a contact chooses."""
    loop = temperature_loop()
    controller = loop.controllers[0]
    port = model_port("Contact", IN, (Purpose.DIGITAL_INPUT,), "digital-input")
    board = Model(
        maker="Fennel Row", name="Contact board", kind=ModelKind.OPTION_BOARD, family="digital input", ports=(port,)
    )
    contact_port = model_port("Contact", OUT, (Purpose.DIGITAL_INPUT,), "digital-input")
    switch_model = Model(maker="Tarn & Pell", name="Key switch", kind=ModelKind.SET_POINT_SOURCE, ports=(contact_port,))
    switch = Tag(
        name="HS-101",
        loop=loop.number,
        role=Role.SET_POINT_SOURCE,
        location=Location.PANEL,
        place="Panel P1",
        asset=asset("A1014", switch_model),
        specified=switch_model,
        ports=(Port(name="Contact", direction=OUT, purpose=Purpose.DIGITAL_INPUT, signal="digital-input"),),
    )
    controller = replace(
        controller,
        asset=replace(controller.asset, boards=(*controller.asset.boards, FittedBoard(bay="3", model=board))),
        settings=replace(controller.settings, set_point_source=SetPointSource.DIGITAL_SELECT),
        ports=(
            *controller.ports,
            Port(name="Contact", direction=IN, purpose=Purpose.DIGITAL_INPUT, signal="digital-input", bay="3"),
        ),
    )
    link = wire(
        Link(source_tag="HS-101", source_port="Contact", target_tag=controller.name, target_port="Contact"),
        cable("C-1014", length_m=number(3)),
    )
    return replace(loop, tags=(loop.tags[0], controller, loop.tags[2], switch), links=(*loop.links, link))


def split_range_loop(*, first: tuple[str, str], second: tuple[str, str]) -> Loop:
    """One output that heats by one valve and cools by another, each on its part of it."""
    loop = heat_cool_loop()
    sensor, controller, heating, cooling = loop.tags
    controller = replace(
        controller,
        asset=replace(controller.asset, boards=controller.asset.boards[:2]),
        ports=tuple(port for port in controller.ports if port.name != "Output 3"),
    )

    def piece(valve: Tag, part: tuple[str, str]) -> Tag:
        port = replace(
            valve.ports[0],
            purpose=Purpose.CONTROL,
            split_low_percent=number(part[0]),
            split_high_percent=number(part[1]),
        )
        return replace(valve, ports=(port,))

    links = (*loop.links[:2], replace(loop.links[2], source_port="Output 1"))
    return replace(loop, tags=(sensor, controller, piece(heating, second), piece(cooling, first)), links=links)


def pneumatic_loop(sent: str, read: str) -> Loop:
    """A heating loop whose valve is worked by air, through a converter."""
    loop = temperature_loop()
    sensor, controller, valve = loop.tags
    electric = model_port("Current", IN, (Purpose.CONTROL,), "4-20mA", resistance_ohm=number(200))
    air = model_port("Air", OUT, (Purpose.CONTROL,), sent)
    model = Model(maker="Tarn & Pell", name="Blow 2", kind=ModelKind.SIGNAL_CONDITIONER, ports=(electric, air))
    converter = Tag(
        name="TY-101",
        loop=loop.number,
        role=Role.SIGNAL_CONDITIONER,
        location=Location.FIELD,
        place="Hot water tank",
        asset=asset("A1016", model),
        specified=model,
        ports=(
            Port(name="Current", direction=IN, purpose=Purpose.CONTROL, signal="4-20mA"),
            Port(name="Air", direction=OUT, purpose=Purpose.CONTROL, signal=sent),
        ),
    )
    positioner = valve_model(name="Globe 40 air", ports=(model_port("Signal", IN, (Purpose.CONTROL,), read),))
    valve = replace(
        valve,
        specified=positioner,
        asset=replace(valve.asset, model=positioner),
        ports=(Port(name="Signal", direction=IN, purpose=Purpose.CONTROL, signal=read),),
    )
    first = Link(source_tag="TIC-101", source_port="Output 1", target_tag="TY-101", target_port="Current")
    links = (
        loop.links[0],
        wire(first, cable("C-1012")),
        Link(source_tag="TY-101", source_port="Air", target_tag="TV-101", target_port="Signal"),
    )
    return replace(loop, tags=(sensor, controller, converter, valve), links=links)


def motorised_valve_loop() -> Loop:
    """A right loop that opens and closes a motorised valve by two relays."""
    loop = with_boards(temperature_loop(), "TIC-101", bay_1=relay_board(), bay_3=relay_board())
    sensor, controller, valve = loop.tags
    motor = tuple(
        model_port(name, IN, (Purpose.CONTROL,), "relay-contact", load_kind=LoadKind.MOTOR, load_a=number("0.1"))
        for name in ("Open", "Close")
    )
    model = valve_model(name="Motor globe 40", fail_position=FailPosition.STAYS, ports=motor)
    controller = replace(
        controller,
        settings=replace(controller.settings, control=ControlForm.MOTORISED_VALVE),
        ports=(
            controller.ports[0],
            Port(name="Open", direction=OUT, purpose=Purpose.CONTROL, signal="relay-contact", bay="1"),
            controller.ports[2],
            Port(name="Close", direction=OUT, purpose=Purpose.CONTROL, signal="relay-contact", bay="3"),
        ),
    )
    valve = replace(
        valve,
        specified=model,
        asset=replace(valve.asset, model=model),
        safe_position=FailPosition.STAYS,
        ports=tuple(
            Port(name=name, direction=IN, purpose=Purpose.CONTROL, signal="relay-contact") for name in ("Open", "Close")
        ),
    )
    links = tuple(
        wire(
            Link(source_tag="TIC-101", source_port=name, target_tag="TV-101", target_port=name),
            cable(f"C-101{place}", use=CableUse.POWER, screened=False, screen_earthed_at=()),
        )
        for place, name in ((2, "Open"), (4, "Close"))
    )
    return replace(loop, tags=(sensor, controller, valve), links=(loop.links[0], *links))


def _switched_loop(board: Model, heater: Model, signal: str, cycle_time_s: str) -> Loop:
    """A right heating loop that switches a heater by the board in bay 1."""
    loop = with_boards(temperature_loop(), "TIC-101", bay_1=board)
    sensor, controller, valve = loop.tags
    controller = replace(
        controller,
        settings=replace(controller.settings, cycle_time_s=number(cycle_time_s)),
        ports=(controller.ports[0], replace(controller.ports[1], signal=signal), controller.ports[2]),
    )
    element = replace(
        valve,
        name="TZ-101",
        specified=heater,
        asset=replace(valve.asset, model=heater),
        ports=(Port(name="Drive", direction=IN, purpose=Purpose.CONTROL, signal=signal),),
    )
    link = wire(
        Link(source_tag="TIC-101", source_port="Output 1", target_tag="TZ-101", target_port="Drive"),
        cable("C-1012", use=CableUse.POWER, screened=False, screen_earthed_at=()),
    )
    return replace(loop, tags=(sensor, controller, element), links=(loop.links[0], link))


def relay_heater_loop(*, load_a: str = "0.05", kind: LoadKind = LoadKind.COIL) -> Loop:
    """A relay board that switches a heater's contactor, right by its coil of 0.05 A."""
    heater = heater_model(kind, "relay-contact", load_a=number(load_a), load_v_min=number(207), load_v_max=number(240))
    return _switched_loop(relay_board(), heater, "relay-contact", "30")


def ssr_loop(*, load_kind: LoadKind = LoadKind.ELECTRONIC, **facts) -> Loop:
    """A right loop that drives a solid-state relay of 3 to 32 V and 12 mA by a logic output."""
    return _switched_loop(ssr_board(), heater_model(load_kind, **facts), "ssr-drive", "2")


def triac_loop(*, load_a: str) -> Loop:
    """A triac that leaks 2 mA when off, and a small load."""
    port = model_port(
        "Triac", OUT, (Purpose.CONTROL, Purpose.ALARM), "triac", leakage_ma=number(2), contact_v=number(240)
    )
    board = Model(maker="Fennel Row", name="Triac board", kind=ModelKind.OPTION_BOARD, family="triac", ports=(port,))
    heater = heater_model(LoadKind.COIL, "triac", load_a=number(load_a), load_v_min=number(207), load_v_max=number(253))
    loop = _switched_loop(board, heater, "triac", "20")
    controller = loop.controllers[0]
    bays = tuple(replace(bay, takes=tuple(sorted((*bay.takes, "triac")))) for bay in controller.model.bays)
    return with_model(loop, "TIC-101", bays=bays)


def two_positioner_loop(*, resistance_ohm: str) -> Loop:
    """Two valves in series on one current output."""
    loop = temperature_loop()
    port = model_port("Signal", IN, (Purpose.CONTROL,), "4-20mA", resistance_ohm=number(resistance_ohm), isolated=True)
    model = valve_model(name="Globe 40 old", ports=(port,))
    valve = loop.tags[2]
    first = replace(valve, specified=model, asset=replace(valve.asset, model=model))
    second = replace(first, name="TV-101B", asset=asset("A1015", model))
    link = wire(
        Link(source_tag="TIC-101", source_port="Output 1", target_tag="TV-101B", target_port="Signal"), cable("C-1015")
    )
    return replace(loop, tags=(*loop.tags[:2], first, second), links=(*loop.links, link))


def recorder_loop(*, sent: str, read: str) -> Loop:
    """A furnace loop that retransmits its reading to a recorder."""
    loop = thermocouple_loop(range_=sent)
    loop = with_boards(loop, "TIC-301", bay_3=linear_board())
    port = model_port("Channel 1", IN, (Purpose.RETRANSMISSION,), "4-20mA", resistance_ohm=number(50), isolated=True)
    model = Model(maker="Fennel Row", name="Chart 6", kind=ModelKind.RECORDER, ports=(port,))
    recorder = Tag(
        name="TR-301",
        loop=loop.number,
        role=Role.RECORDER,
        location=Location.PANEL,
        place="Panel P1",
        asset=asset("A3014", model),
        specified=model,
        ports=(
            Port(name="Channel 1", direction=IN, purpose=Purpose.RETRANSMISSION, signal="4-20mA", range=span(read)),
        ),
    )
    controller = loop.controllers[0]
    output = Port(
        name="Output 3", direction=OUT, purpose=Purpose.RETRANSMISSION, signal="4-20mA", bay="3", range=span(sent)
    )
    controller = replace(controller, ports=(*controller.ports, output))
    link = wire(
        Link(source_tag="TIC-301", source_port="Output 3", target_tag="TR-301", target_port="Channel 1"),
        cable("C-3014", length_m=number(3)),
    )
    return replace(loop, tags=(loop.tags[0], controller, loop.tags[2], recorder), links=(*loop.links, link))


def series_loop(*, isolated: bool) -> Loop:
    """A transmitter read by a controller and, in series, an indicator."""
    loop = pressure_loop()
    port = model_port("Input", IN, (Purpose.MEASUREMENT,), "4-20mA", resistance_ohm=number(50), isolated=isolated)
    model = Model(maker="Fennel Row", name="Dial 4", kind=ModelKind.INDICATOR, display_digits=4, ports=(port,))
    measured = loop.tags[0].ports[0].range
    indicator = Tag(
        name="PI-201",
        loop=loop.number,
        role=Role.INDICATOR,
        location=Location.PANEL,
        place="Panel P1",
        asset=asset("A2014", model),
        specified=model,
        ports=(
            Port(
                name="Input",
                direction=IN,
                purpose=Purpose.MEASUREMENT,
                signal="4-20mA",
                range=measured,
                supplies_loop=False,
            ),
        ),
    )
    controller = loop.controllers[0]
    ports = tuple(replace(one, isolated=isolated) for one in controller.model.ports)
    link = wire(
        Link(source_tag="PT-201", source_port="Output", target_tag="PI-201", target_port="Input"),
        cable("C-2014", length_m=number(3)),
    )
    whole = replace(loop, tags=(*loop.tags, indicator), links=(*loop.links, link))
    return with_model(whole, "PIC-201", ports=ports)


def without_supply(loop: Loop) -> Loop:
    """The pressure loop without the board that feeds its transmitter."""
    controller = loop.controllers[0]
    ports = tuple(port for port in controller.ports if port.purpose != Purpose.TRANSMITTER_SUPPLY)
    transmitter = next(tag for tag in loop.tags if tag.role == Role.TRANSMITTER)
    loop = with_boards(without_link(loop, transmitter.name, "Supply"), controller.name, bay_3=None)
    return with_tag(with_tag(loop, controller.name, ports=ports), transmitter.name, ports=transmitter.ports[:1])


def four_wire_loop(*, input_feeds: bool = False) -> Loop:
    """A pressure loop whose transmitter feeds its own current; right on a passive input."""
    loop = without_supply(pressure_loop())
    output = model_port(
        "Output",
        OUT,
        (Purpose.MEASUREMENT,),
        "4-20mA",
        supplies_loop=True,
        max_load_ohm=number(500),
        failure_high_ma=number("21.5"),
        failure_low_ma=number("3.6"),
    )
    loop = with_model(loop, "PT-201", name="Press 25 four-wire", wires=4, ports=(output,))
    return with_port(loop, "PIC-201", "Input", supplies_loop=input_feeds)


def burden_loop(*, input_ohm: str, csa_mm2: str, length_m: str) -> Loop:
    """A two-wire transmitter through an input resistance and a run of cable."""
    loop = pressure_loop()
    controller = loop.controllers[0]
    ports = tuple(replace(one, resistance_ohm=number(input_ohm)) for one in controller.model.ports)
    loop = with_model(loop, "PIC-201", ports=ports)
    return with_cable(loop, "PIC-201", "Input", csa_mm2=number(csa_mm2), length_m=number(length_m))


def digital_loop(*, input_ohm: str) -> Loop:
    """A two-wire transmitter on whose current digital messages ride, through an input resistance and 300 m of cable."""
    loop = burden_loop(input_ohm=input_ohm, csa_mm2="1.5", length_m="300")
    sender, supply = loop.tag("PT-201").model.ports
    return with_model(loop, "PT-201", ports=(replace(sender, digital_on_current=True), supply))


def voltage_loop(*, length_m: str) -> Loop:
    """A transmitter that sends 0–10 V."""
    loop = pressure_loop()
    transmitter = loop.tags[0]
    output = model_port("Output", OUT, (Purpose.MEASUREMENT,), "0-10V")
    supply = transmitter.model.ports[1]
    loop = with_model(loop, "PT-201", wires=3, ports=(output, supply))
    loop = with_port(loop, "PT-201", "Output", signal="0-10V")
    loop = with_port(loop, "PIC-201", "Input", signal="0-10V")
    loop = with_settings(loop, "PIC-201", input_signal="0-10V", fault_below_ma=None, fault_above_ma=None)
    return with_cable(loop, "PIC-201", "Input", length_m=number(length_m))


def alarm_pair_loop(*, high: str, high_high: str) -> Loop:
    """A loop with a high and a high-high alarm, in per cent of its range of 0 to 100 °C."""
    loop = with_boards(temperature_loop(range_="0-100 degC"), "TIC-101", bay_3=relay_board())
    controller = loop.controllers[0]
    first = replace(controller.alarms[0], set_point=number(high), deadband=number(2))
    second = replace(first, name="Alarm 2", kind=AlarmKind.HIGH_HIGH, set_point=number(high_high), output="Relay 3")
    relay = Port(name="Relay 3", direction=OUT, purpose=Purpose.ALARM, signal="relay-contact", bay="3")
    return with_tag(loop, "TIC-101", alarms=(first, second), ports=(*controller.ports, relay))


def bus_loop(
    *,
    address: int = 1,
    others: tuple[str, ...] = ("2", "5"),
    parity: str = "even",
    terminated: int = 1,
    unit_loads: tuple[tuple[int, str], ...] = (),
) -> Loop:
    """A controller on bus A; what else is on it stands in its surroundings."""
    loop = with_boards(temperature_loop(), "TIC-101", bay_3=serial_board())
    mine = SerialLine(
        bus="A", address=address, baud=9600, parity=Parity(parity), stop_bits=1, mode="RTU", terminated=False
    )
    serial = Port(name="Serial", direction=IN, purpose=Purpose.SERIAL, signal="rs485", bay="3")
    loop = with_settings(loop, "TIC-101", serial=mine)
    loop = with_tag(loop, "TIC-101", ports=(*loop.controllers[0].ports, serial))
    usual = replace(mine, parity=Parity.EVEN)
    stations = [Station(tag="TIC-101", loop="T-101", line=mine, unit_load=number("0.25"))]
    if unit_loads:
        loads = [load for count, load in unit_loads for _ in range(count)]
        stations = [replace(stations[0], unit_load=number(loads[0]))]
        stations += [
            Station(
                tag=f"TIC-{200 + place}",
                loop=f"T-{200 + place}",
                line=replace(usual, address=place + 1),
                unit_load=number(load),
            )
            for place, load in enumerate(loads[1:], start=1)
        ]
        stations[1] = replace(stations[1], line=replace(stations[1].line, terminated=True))
    else:
        stations += [
            Station(
                tag=f"TIC-{200 + place}",
                loop=f"T-{200 + place}",
                line=replace(usual, address=int(other), terminated=place < terminated),
                unit_load=number("0.25"),
            )
            for place, other in enumerate((*others, "31", "32"))
        ]
    return with_surroundings(loop, stations=tuple(stations))


def barrier_loop(*, ui_v: str = "30", capacitance_pf_per_m: str | None = "110", length_m: str = "300") -> Loop:
    """An intrinsically safe transmitter in zone 1, through an isolator that feeds it."""
    loop = pressure_loop()
    transmitter, controller, valve = loop.tags
    device = ExData(
        certificate="EX 11 A", protection="ia", gas_group="IIC", temperature_class="T4", ui_v=number(ui_v),
        ii_ma=number(100), pi_mw=number(700), ci_nf=number(5), li_mh=number("0.01"),
    )  # fmt: skip
    source = ExData(
        certificate="EX 12 B", protection="ia", gas_group="IIC", uo_v=number(28), io_ma=number(93), po_mw=number(650),
        co_nf=number(83), lo_mh=number("4.2"),
    )  # fmt: skip
    measured = transmitter.ports[0].range
    field_side = model_port(
        "Field", IN, (Purpose.MEASUREMENT,), "4-20mA", resistance_ohm=number(0), supplies_loop=True, isolated=True,
        supply_v=number("16.5"), supply_resistance_ohm=number(0),
    )  # fmt: skip
    safe_side = model_port("Safe", OUT, (Purpose.MEASUREMENT,), "4-20mA", max_load_ohm=number(600))
    model = Model(
        maker="Quarrymoor", name="Isolator 1", kind=ModelKind.SIGNAL_CONDITIONER, isolates=True, ex=source,
        ports=(field_side, safe_side),
    )  # fmt: skip
    isolator = Tag(
        name="PY-201",
        loop=loop.number,
        role=Role.SIGNAL_CONDITIONER,
        location=Location.RACK,
        place="Rack R1",
        asset=asset("A2015", model),
        specified=model,
        ports=(
            Port(name="Field", direction=IN, purpose=Purpose.MEASUREMENT, signal="4-20mA", range=measured),
            Port(name="Safe", direction=OUT, purpose=Purpose.MEASUREMENT, signal="4-20mA", range=measured),
        ),
    )
    transmitter_of = replace(transmitter.model, ex=device)
    transmitter = replace(
        transmitter,
        specified=transmitter_of,
        asset=replace(transmitter.asset, model=transmitter_of),
        zone="1",
        gas_group="IIB",
        ports=transmitter.ports[:1],
    )
    controller = replace(
        controller,
        asset=replace(controller.asset, boards=controller.asset.boards[:2]),
        ports=tuple(port for port in controller.ports if port.purpose != Purpose.TRANSMITTER_SUPPLY),
    )
    safe = cable(
        "C-2011", length_m=number(length_m), inductance_uh_per_m=number("0.7"),
        capacitance_pf_per_m=None if capacitance_pf_per_m is None else number(capacitance_pf_per_m),
    )  # fmt: skip
    links = (
        wire(Link(source_tag="PT-201", source_port="Output", target_tag="PY-201", target_port="Field"), safe),
        wire(
            Link(source_tag="PY-201", source_port="Safe", target_tag="PIC-201", target_port="Input"),
            cable("C-2016", length_m=number(5)),
        ),
        loop.links[2],
    )
    return replace(loop, tags=(transmitter, isolator, controller, valve), links=links)


def zoned_loop(
    *,
    zone: str = "1",
    protection: str = "ia",
    group: str = "IIC",
    area_group: str = "IIB",
    temperature_class: str = "T4",
    ignition_c: str = "425",
) -> Loop:
    """The intrinsically safe loop with its area and its transmitter's certificate as given."""
    loop = barrier_loop()
    ex = replace(
        loop.tag("PT-201").model.ex, protection=protection, gas_group=group, temperature_class=temperature_class
    )
    loop = with_model(loop, "PT-201", ex=ex)
    return with_tag(loop, "PT-201", zone=zone, gas_group=area_group, ignition_c=number(ignition_c))


def trip_loop(*, trip_at: str = "246.0", final_failures: str = "1.5e-6") -> Loop:
    """A right trip of SIL 2: its own transmitter, alarm unit and shut-off valve; proof tested on 10 January 2025."""
    base = pressure_loop("601", range_="0-300 degC")
    transmitter, controller, valve = base.tags
    model = transmitter_model(
        name="Heat 300", range_limits=span("-50-400 degC"), minimum_span=number(25), accuracy=number("0.4")
    )
    transmitter = replace(
        transmitter, name="TT-601", loop="T-601", specified=model, asset=replace(transmitter.asset, model=model)
    )
    unit_model = controller_model(
        name="Guard 48",
        kind=ModelKind.ALARM_UNIT,
        heat_cool=None,
        accuracy=number("0.3"),
        proportional_as=None,
        time_unit=None,
        pid_form=None,
    )
    unit = replace(
        controller,
        name="TSHH-601",
        loop="T-601",
        role=Role.ALARM_UNIT,
        specified=unit_model,
        asset=replace(
            controller.asset,
            model=unit_model,
            boards=tuple(board for board in controller.asset.boards if board.bay != "1"),
        ),
        settings=Settings(
            input_signal="4-20mA",
            range=span("0-300 degC"),
            decimals=1,
            sensor_break=FaultDirection.UPSCALE,
            fault_below_ma=number("3.6"),
            fault_above_ma=number("21.0"),
            control=ControlForm.NONE,
        ),
        ports=tuple(port for port in controller.ports if port.purpose != Purpose.CONTROL),
        alarms=(
            Alarm(
                name="Trip",
                kind=AlarmKind.HIGH_HIGH,
                set_point=number(trip_at),
                deadband=number(2),
                output="Relay 2",
                coil=CoilState.DE_ENERGISES,
                trip=True,
                latching=True,
            ),
        ),
    )
    coil = model_port(
        "Coil", IN, (Purpose.ALARM,), "relay-contact", load_kind=LoadKind.COIL, load_a=number("0.05"),
        load_v_min=number(20), load_v_max=number(28),
    )  # fmt: skip
    shutoff = valve_model(name="Shut-off 40", ports=(coil,))
    valve = replace(
        valve,
        name="TZ-601",
        loop="T-601",
        specified=shutoff,
        asset=replace(valve.asset, model=shutoff),
        ports=(Port(name="Coil", direction=IN, purpose=Purpose.ALARM, signal="relay-contact"),),
    )
    links = (
        wire(
            Link(source_tag="TT-601", source_port="Output", target_tag="TSHH-601", target_port="Input"), cable("C-6011")
        ),
        wire(
            Link(source_tag="TSHH-601", source_port="Supply 24 V", target_tag="TT-601", target_port="Supply"),
            cable("C-6013"),
        ),
        wire(
            Link(source_tag="TSHH-601", source_port="Relay 2", target_tag="TZ-601", target_port="Coil"),
            cable("C-6012", use=CableUse.POWER, screened=False, screen_earthed_at=()),
        ),
    )
    return replace(
        base,
        number="T-601",
        service="Superheater trip",
        kind=LoopKind.TRIP,
        criticality=Criticality.SAFETY,
        on_opening=None,
        safe_high=number("250.0"),
        normal_value=number(220),
        safety=SafetyFunction(
            target_sil=2,
            sensor_pfd=number("0.001"),
            logic_pfd=number("0.001"),
            final_element_failures_per_hour=number(final_failures),
            proof_test_interval_months=12,
            last_proof_test=date(2025, 1, 10),
        ),
        tags=(transmitter, unit, valve),
        links=links,
        surroundings=replace(base.surroundings, today=date(2025, 6, 1)),
    )


def calibrated_loop(*, calibrated: str = "0-10 bar (gauge)", **facts) -> Loop:
    """A pressure loop whose transmitter was calibrated on 10 February 2025, every 12 months."""
    record = {
        "points": 5, "both_ways": True, "as_found_recorded": True, "worst_error_percent": "0.19",
        "tolerance_percent": "0.25", "standard_uncertainty_percent": "0.05",
    } | facts  # fmt: skip
    typed = {name: number(value) if isinstance(value, str) else value for name, value in record.items()}
    calibration = Calibration(on=date(2025, 2, 10), result=CalibrationResult.PASS, range=span(calibrated), **typed)
    loop = with_tag(pressure_loop(), "PT-201", calibration=calibration, calibration_interval_months=12)
    return with_surroundings(loop, today=date(2025, 6, 1))


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
    cooling = replace(
        valve,
        name=f"TV-{number_}B",
        asset=asset(f"A{number_}4", valve_model()),
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


def with_bays(loop: Loop, tag: str, **takes: str) -> Loop:
    """The loop with what bays of a controller take, as ``bay_3="serial"``; families parted by comma."""
    bays = {bay.name: bay for bay in loop.tag(tag).model.bays}
    for key, families in takes.items():
        name = key.removeprefix("bay_")
        bays[name] = Bay(name=name, takes=tuple(family.strip() for family in families.split(",")))
    return with_model(loop, tag, bays=tuple(bays.values()))


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


def without_tag(loop: Loop, name: str) -> Loop:
    """The loop without a tag and without the links to it."""
    return replace(
        loop,
        tags=tuple(tag for tag in loop.tags if tag.name != name),
        links=tuple(link for link in loop.links if name not in (link.source_tag, link.target_tag)),
    )


def without_port(loop: Loop, tag: str, port: str) -> Loop:
    """The loop without a port of a tag, the links on it and the board in its bay."""
    gone = loop.tag(tag).port(port)
    ports = tuple(one for one in loop.tag(tag).ports if one.name != port)
    ends = (tag, port)
    links = tuple(
        link
        for link in loop.links
        if ends not in ((link.source_tag, link.source_port), (link.target_tag, link.target_port))
    )
    loop = replace(with_tag(loop, tag, ports=ports), links=links)
    return with_boards(loop, tag, **{f"bay_{gone.bay}": None}) if gone.bay else loop


def without_link(loop: Loop, target_tag: str, target_port: str) -> Loop:
    return replace(
        loop,
        links=tuple(link for link in loop.links if (link.target_tag, link.target_port) != (target_tag, target_port)),
    )


def with_surroundings(loop: Loop, **facts) -> Loop:
    return replace(loop, surroundings=replace(loop.surroundings, **facts))
