"""Loops of different shape for the tests of sheets: invented, and plausible to a practitioner."""

from __future__ import annotations

from decimal import Decimal

from msgspec.structs import replace

from register.plant import sketch
from register.plant.values import (
    Alarm,
    Bay,
    Cable,
    Core,
    ExData,
    FittedBoard,
    Link,
    Loop,
    Model,
    Port,
    Settings,
    Tag,
)
from register.plant.words import (
    AlarmKind,
    CoilState,
    ControlForm,
    Criticality,
    Direction,
    FailPosition,
    LoadKind,
    Location,
    ModelKind,
    Purpose,
    Role,
    SupplyKind,
)

IN, OUT = Direction.IN, Direction.OUT


def cable(name: str, **facts) -> Cable:
    return sketch.cable(name, **facts)


def way(link: Link, *legs: tuple[Cable, str, str], wires: str) -> Link:
    """The link by cables from place to place. ``wires`` gives core:colour:polarity, blank-separated; each leg is a
    cable, the terminals where it begins and those where it ends: ``place/1,2,3``."""
    cores = []
    for one_cable, begin, end in legs:
        from_place, from_terminals = begin.split("/")
        to_place, to_terminals = end.split("/")
        for wire, first, last in zip(wires.split(), from_terminals.split(","), to_terminals.split(","), strict=True):
            core, colour, polarity = wire.split(":")
            cores.append(
                Core(
                    cable=one_cable,
                    core=core,
                    colour=colour,
                    polarity=polarity,
                    from_place=from_place,
                    from_terminal=first,
                    to_place=to_place,
                    to_terminal=last,
                )
            )
    return replace(link, cores=tuple(cores))


def through_junction_box() -> Loop:
    """A Pt100 and a valve wired by way of a junction box and a marshalling rack."""
    loop = sketch.temperature_loop("310")
    measured = way(
        replace(loop.links[0], cores=()),
        (cable("C-310"), "TE-310/1,2,3", "JB-31/1,2,3"),
        (cable("M-31", cores=24, length_m=Decimal(140)), "JB-31/1,2,3", "MR-2/41,42,43"),
        (cable("P-310", cores=None, csa_mm2=None, length_m=None, screened=None), "MR-2/41,42,43", "TIC-310/7,8,9"),
        wires="1:red:+ 2:white:- 3:red:compensation",
    )
    driven = way(
        replace(loop.links[1], cores=()),
        (cable("P-311", cores=None, csa_mm2=None, length_m=None, screened=None), "TIC-310/14,15", "MR-2/51,52"),
        (cable("M-31", cores=24, length_m=Decimal(140)), "MR-2/51,52", "JB-31/11,12"),
        (cable("C-311"), "JB-31/11,12", "TV-310/1,2"),
        wires="1:black:+ 2:blue:-",
    )
    return replace(loop, links=(measured, driven))


def with_isolator() -> Loop:
    """A thermocouple with a head transmitter in zone 1, an isolator in the rack that feeds it, and a controller."""
    base = sketch.pressure_loop("420", range_="0-400 degC")
    controller, valve = base.controllers[0], base.tags[2]
    element = Tag(
        name="TE-420",
        loop="T-420",
        role=Role.SENSOR,
        location=Location.FIELD,
        place="Kiln 2, air on",
        zone="1",
        gas_group="IIC",
        specified=sketch.sensor_model("tc-K", "0-1100 degC", ex=ExData(simple_apparatus=True)),
        ports=(Port(name="Couple", direction=OUT, purpose=Purpose.MEASUREMENT, signal="tc-K"),),
    )
    span = sketch.span("0-400 degC")
    head = Tag(
        name="TT-420",
        loop="T-420",
        role=Role.TRANSMITTER,
        location=Location.FIELD,
        place="Kiln 2, air on",
        zone="1",
        gas_group="IIC",
        asset=sketch.asset(
            "A4202",
            sketch.transmitter_model(
                ex=ExData(certificate="LW 24 ATEX 0001 X", protection="ia", gas_group="IIC", temperature_class="T4"),
            ),
        ),
        ports=(
            Port(name="Input", direction=IN, purpose=Purpose.MEASUREMENT, signal="tc-K", range=span),
            Port(name="Output", direction=OUT, purpose=Purpose.MEASUREMENT, signal="4-20mA", range=span),
        ),
    )
    isolator = Tag(
        name="TY-420",
        loop="T-420",
        role=Role.SIGNAL_CONDITIONER,
        location=Location.RACK,
        place="Rack R1, slot 7",
        supply_v=Decimal(24),
        supply_kind=SupplyKind.DC,
        fuse="F7, 1 A",
        asset=sketch.asset("A4203", Model(maker="Quarrymoor", name="Isolator 2", kind=ModelKind.SIGNAL_CONDITIONER)),
        ports=(
            Port(
                name="Field side",
                direction=IN,
                purpose=Purpose.MEASUREMENT,
                signal="4-20mA",
                range=span,
                supplies_loop=True,
            ),
            Port(name="Safe side", direction=OUT, purpose=Purpose.MEASUREMENT, signal="4-20mA", range=span),
        ),
    )
    controller = replace(
        controller,
        name="TIC-420",
        loop="T-420",
        ports=tuple(port for port in controller.ports if port.purpose != Purpose.TRANSMITTER_SUPPLY),
        asset=replace(controller.asset, boards=controller.asset.boards[:2]),
    )
    valve = replace(valve, name="TV-420", loop="T-420", place="Kiln 2 gas train")

    def link(source: str, source_port: str, target: str, target_port: str) -> Link:
        return Link(source_tag=source, source_port=source_port, target_tag=target, target_port=target_port)

    couple = way(
        link("TE-420", "Couple", "TT-420", "Input"),
        (cable("TC tails", cores=2, screened=False, designation="K", length_m=None), "TE-420/+,-", "TT-420/1,2"),
        wires="+:green:+ -:white:-",
    )
    loop_current = way(
        link("TT-420", "Output", "TY-420", "Field side"),
        (cable("C-420"), "TT-420/5,6", "JB-42/1,2"),
        (cable("M-42", cores=12), "JB-42/1,2", "TY-420/1,2"),
        wires="1:blue:+ 2:black:-",
    )
    onward = way(
        link("TY-420", "Safe side", "TIC-420", "Input"),
        (cable("P-420", screened=None, csa_mm2=None, cores=None, length_m=None), "TY-420/7,8", "TIC-420/7,8"),
        wires="1:grey:+ 2:grey:-",
    )
    driven = way(
        link("TIC-420", "Output 1", "TV-420", "Signal"),
        (cable("C-421"), "TIC-420/14,15", "TV-420/1,2"),
        wires="1:blue:+ 2:black:-",
    )
    return replace(
        base,
        number="T-420",
        service="Kiln 2 air-on temperature",
        area="Works / Kilns / Kiln 2",
        tags=(element, head, isolator, controller, valve),
        links=(couple, loop_current, onward, driven),
    )


def heat_and_cool() -> Loop:
    """Heating by a contactor, cooling by a valve, eight alarms on eight relays, some of them wired to horns."""
    base = sketch.temperature_loop("530", range_="0-120 degC")
    sensor, controller, valve = base.tags
    relays = tuple(f"Relay {nth}" for nth in range(1, 9))
    model = sketch.controller_model(
        bays=tuple(
            Bay(name=str(nth), takes=("relay", "linear output", "serial", "remote set point")) for nth in range(1, 12)
        )
    )
    boards = (
        FittedBoard(bay="1", model=sketch.relay_board()),
        FittedBoard(bay="2", model=sketch.linear_board()),
        *(FittedBoard(bay=str(nth + 2), model=sketch.relay_board(), serial=f"B{nth}") for nth in range(1, 9)),
    )
    kinds = (
        AlarmKind.LOW_LOW,
        AlarmKind.LOW,
        AlarmKind.HIGH,
        AlarmKind.HIGH_HIGH,
        AlarmKind.DEVIATION_LOW,
        AlarmKind.DEVIATION_HIGH,
        AlarmKind.RATE_OF_CHANGE,
        AlarmKind.SENSOR_BREAK,
    )
    alarms = tuple(
        Alarm(
            name=f"Alarm {nth}",
            kind=kind,
            set_point=Decimal(10 * nth) if kind != AlarmKind.SENSOR_BREAK else None,
            deadband=Decimal("0.5"),
            priority="high" if nth in (1, 4) else "low",
            output=relay,
            coil=CoilState.DE_ENERGISES,
            trip=nth == 4,
            action="Check the steam supply" if nth == 2 else "",
        )
        for nth, (kind, relay) in enumerate(zip(kinds, relays, strict=True), start=1)
    )
    controller = replace(
        controller,
        asset=sketch.asset("A5302", model, *boards),
        settings=replace(controller.settings, control=ControlForm.HEAT_COOL, cycle_time_s=Decimal(20)),
        ports=(
            controller.ports[0],
            Port(name="Heat", direction=OUT, purpose=Purpose.CONTROL, signal="relay-contact", bay="1"),
            Port(name="Cool", direction=OUT, purpose=Purpose.COOLING_CONTROL, signal="4-20mA", bay="2"),
            *(
                Port(name=relay, direction=OUT, purpose=Purpose.ALARM, signal="relay-contact", bay=str(nth + 2))
                for nth, relay in enumerate(relays, start=1)
            ),
        ),
        alarms=alarms,
    )
    heater = Tag(
        name="TZ-530",
        loop="T-530",
        role=Role.FINAL_ELEMENT,
        location=Location.PANEL,
        place="Panel P5",
        supply_v=Decimal(400),
        supply_kind=SupplyKind.AC,
        fuse="F12, 32 A",
        asset=sketch.asset("A5304", sketch.heater_model(LoadKind.COIL, "relay-contact")),
        ports=(Port(name="Coil", direction=IN, purpose=Purpose.CONTROL, signal="relay-contact"),),
    )
    valve = replace(valve, ports=(Port(name="Signal", direction=IN, purpose=Purpose.COOLING_CONTROL, signal="4-20mA"),))
    horn = Tag(
        name="TAH-530",
        loop="T-530",
        role=Role.ALARM_UNIT,
        location=Location.PANEL,
        place="Panel P5",
        ports=(
            Port(name="In 1", direction=IN, purpose=Purpose.ALARM, signal="relay-contact"),
            Port(name="In 2", direction=IN, purpose=Purpose.ALARM, signal="relay-contact"),
        ),
    )
    links = (
        base.links[0],
        sketch.wire(
            Link(source_tag="TIC-530", source_port="Heat", target_tag="TZ-530", target_port="Coil"),
            cable("P-531", screened=False, use="power"),
            "L N",
        ),
        sketch.wire(
            Link(source_tag="TIC-530", source_port="Cool", target_tag="TV-530", target_port="Signal"), cable("C-532")
        ),
        Link(source_tag="TIC-530", source_port="Relay 3", target_tag="TAH-530", target_port="In 1"),
        sketch.wire(
            Link(source_tag="TIC-530", source_port="Relay 4", target_tag="TAH-530", target_port="In 2"),
            cable("P-534", screened=False),
            "C NO",
        ),
    )
    return replace(
        base,
        service="Mash vessel temperature",
        criticality=Criticality.SAFETY,
        tags=(sensor, controller, heater, valve, horn),
        links=links,
    )


def split_range() -> Loop:
    """One output on two valves in parallel, each for half of it, and a recorder on the retransmission."""
    base = sketch.pressure_loop("640", range_="0-6 bar (gauge)")
    transmitter, controller, valve = base.tags
    controller = replace(
        controller,
        ports=(
            *controller.ports,
            Port(
                name="Retransmission",
                direction=OUT,
                purpose=Purpose.RETRANSMISSION,
                signal="4-20mA",
                range=sketch.span("0-6 bar (gauge)"),
            ),
        ),
    )
    first = replace(
        valve,
        name="PV-640A",
        ports=(replace(valve.ports[0], split_low_percent=Decimal(0), split_high_percent=Decimal(50)),),
    )
    second = replace(
        valve,
        name="PV-640B",
        fail_position=FailPosition.OPEN,
        ports=(replace(valve.ports[0], split_low_percent=Decimal(50), split_high_percent=Decimal(100), reversed=True),),
    )
    recorder = Tag(
        name="PR-640",
        loop="P-640",
        role=Role.RECORDER,
        location=Location.PANEL,
        place="Panel P1, row 1",
        ports=(
            Port(
                name="Channel 3",
                direction=IN,
                purpose=Purpose.MEASUREMENT,
                signal="4-20mA",
                range=sketch.span("0-10 bar (gauge)"),
            ),
        ),
    )
    links = (
        *base.links[:2],
        *(
            sketch.wire(
                Link(source_tag="PIC-640", source_port="Output 1", target_tag=name, target_port="Signal"),
                cable(f"C-{name}"),
            )
            for name in ("PV-640A", "PV-640B")
        ),
        sketch.wire(
            Link(source_tag="PIC-640", source_port="Retransmission", target_tag="PR-640", target_port="Channel 3"),
            cable("P-641", length_m=Decimal(2)),
        ),
    )
    return replace(base, tags=(transmitter, controller, first, second, recorder), links=links)


def thirty_tags() -> Loop:
    """Fourteen transmitters in the field on fourteen indicators, and a controller with its valve."""
    base = sketch.pressure_loop("700")
    tags, links = [*base.tags], [*base.links]
    for nth in range(1, 14):
        sender = replace(base.tags[0], name=f"PT-7{nth:02}", place=f"Header {nth}")
        receiver = Tag(
            name=f"PI-7{nth:02}",
            loop=base.number,
            role=Role.INDICATOR,
            location=Location.PANEL,
            place=f"Panel P7, row {nth}",
            settings=Settings(range=sketch.span("0-10 bar (gauge)")),
            ports=(
                Port(
                    name="Input",
                    direction=IN,
                    purpose=Purpose.MEASUREMENT,
                    signal="4-20mA",
                    range=sketch.span("0-10 bar (gauge)"),
                ),
            ),
        )
        tags += [sender, receiver]
        links.append(
            way(
                Link(source_tag=sender.name, source_port="Output", target_tag=receiver.name, target_port="Input"),
                (cable(f"C-7{nth:02}"), f"{sender.name}/1,2", f"JB-7/{2 * nth - 1},{2 * nth}"),
                (cable("M-7", cores=48), f"JB-7/{2 * nth - 1},{2 * nth}", f"{receiver.name}/4,5"),
                wires="1:white:+ 2:black:-",
            )
        )
    return replace(base, tags=tuple(tags[:30]), links=tuple(links))


ALL = {
    "temperature": sketch.temperature_loop,
    "pressure": sketch.pressure_loop,
    "cascade": sketch.cascade,
    "junction box": through_junction_box,
    "isolator": with_isolator,
    "heat and cool": heat_and_cool,
    "split range": split_range,
    "thirty tags": thirty_tags,
    "empty": lambda: Loop(number="X-1"),
}
