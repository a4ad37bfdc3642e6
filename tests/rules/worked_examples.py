"""The trade's worked examples: for each check a loop that raises a flag, with its number, and loops that do not.

The numbers follow from the tables and equations whose source stands beside the check; where none does, the check is
common practice and its number is arithmetic.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from msgspec.structs import replace

from register.plant import sketch
from register.plant.sketch import number, span
from register.plant.values import CableFill, ExData, Link, Loop, Model, Port, Tag
from register.plant.words import (
    AccuracyBasis,
    Action,
    AlarmKind,
    CoilState,
    ColdJunction,
    ControlForm,
    Direction,
    FailPosition,
    FaultDirection,
    LoadKind,
    Location,
    ModelKind,
    PidForm,
    ProportionalAs,
    Purpose,
    Role,
)


@dataclass(frozen=True)
class Example:
    """A check of the trade, the rule that makes it, and what the rule says of a loop that breaks it."""

    check: str
    rule: str
    flags: Loop
    says: str
    passes: tuple[Loop, ...] = ()

    def __str__(self) -> str:
        return f"{self.check} {self.rule}"


def couple_loop(**facts) -> Loop:
    """Type K at 400 °C, head 60 °C, panel 25 °C."""
    loop = sketch.with_tag(sketch.thermocouple_loop(range_="0-800 degC"), "TIC-301", ambient_c=number(25))
    return sketch.with_cable(loop, "TIC-301", "Input", **facts)


def coloured(loop: Loop, *colours: str) -> Loop:
    link = next(one for one in loop.links if one.target_port == "Input")
    cores = tuple(replace(core, colour=colour) for core, colour in zip(link.cores, colours, strict=True))
    return sketch.with_link(loop, link.target_tag, link.target_port, cores=cores)


def barriered(loop: Loop, ohm: str, target: str, port: str) -> Loop:
    """The loop with a shunt-diode barrier on the way to a port."""
    link = next(one for one in loop.links if (one.target_tag, one.target_port) == (target, port))
    purpose = loop.tag(target).port(port).purpose
    ports = tuple(
        sketch.model_port(name, way, (purpose,), "4-20mA")
        for name, way in (("In", Direction.IN), ("Out", Direction.OUT))
    )
    model = Model(
        maker="Quarrymoor",
        name="Diode 28",
        kind=ModelKind.SIGNAL_CONDITIONER,
        series_resistance_ohm=number(ohm),
        isolates=False,
        ports=ports,
    )
    barrier = Tag(
        name="PY-9",
        loop=loop.number,
        role=Role.SIGNAL_CONDITIONER,
        location=Location.RACK,
        specified=model,
        ports=tuple(
            Port(name=name, direction=way, purpose=purpose, signal="4-20mA")
            for name, way in (("In", Direction.IN), ("Out", Direction.OUT))
        ),
    )
    links = tuple(replace(one, target_tag="PY-9", target_port="In") if one is link else one for one in loop.links)
    onward = Link(source_tag="PY-9", source_port="Out", target_tag=target, target_port=port)
    return replace(loop, tags=(*loop.tags, barrier), links=(*links, onward))


def burdened(*, input_ohm: str, needs_v: str, barrier_ohm: str = "", csa: str = "", length: str = "", **output) -> Loop:
    """A two-wire circuit on 24 V with what is stated in series and nothing else."""
    loop = sketch.burden_loop(input_ohm=input_ohm, csa_mm2=csa or "1.5", length_m=length or "0")
    loop = sketch.with_link(loop, "PT-201", "Supply", cores=())
    sender, supply = loop.tag("PT-201").model.ports
    sender = replace(sender, min_terminal_v=number(needs_v), **{name: number(ma) for name, ma in output.items()})
    loop = sketch.with_model(loop, "PT-201", ports=(sender, supply))
    return barriered(loop, barrier_ohm, "PIC-201", "Input") if barrier_ohm else loop


def driven(*, positioner_ohm: str, barrier_ohm: str = "") -> Loop:
    """A controller output of 600 Ω on a positioner and 24 Ω of cable: 333.3333 m of 0.5 mm² at 36.0 Ω/km."""
    loop = sketch.temperature_loop()
    (port,) = loop.tag("TV-101").model.ports
    loop = sketch.with_model(loop, "TV-101", ports=(replace(port, resistance_ohm=number(positioner_ohm)),))
    loop = sketch.with_cable(loop, "TV-101", "Signal", csa_mm2=number("0.5"), length_m=number("333.3333"))
    return barriered(loop, barrier_ohm, "TV-101", "Signal") if barrier_ohm else loop


def transmitter_of(range_: str) -> Loop:
    """A pressure transmitter on a controller of 0–500 kPa."""
    loop = sketch.with_model(sketch.pressure_loop(range_="0-500 kPa (gauge)"), "PT-201", minimum_span=None)
    return sketch.with_port(loop, "PT-201", "Output", range=span(range_))


def budgeted(tolerance_class: str, *others: str) -> Loop:
    """A chain at 200 °C: an element of a class, a transmitter and a controller whose errors are given in °C."""
    loop = sketch.accuracy_loop(required="1.0", tolerance_class=tolerance_class)
    first, second = others
    loop = sketch.with_model(loop, "TIC-101", accuracy=number(first), accuracy_basis=AccuracyBasis.UNIT)
    model = sketch.transmitter_model(
        name="Heat 400",
        range_limits=span("0-400 degC"),
        minimum_span=None,
        accuracy=number(second),
        accuracy_basis=AccuracyBasis.UNIT,
    )
    head = Tag(
        name="TT-101",
        loop=loop.number,
        role=Role.TRANSMITTER,
        specified=model,
        ports=(
            Port(name="Element", direction=Direction.IN, purpose=Purpose.MEASUREMENT, signal="pt100"),
            Port(
                name="Output",
                direction=Direction.OUT,
                purpose=Purpose.MEASUREMENT,
                signal="4-20mA",
                range=span("0-400 degC"),
            ),
        ),
    )
    links = (
        Link(source_tag="TE-101", source_port="Element", target_tag="TT-101", target_port="Element"),
        Link(source_tag="TT-101", source_port="Output", target_tag="TIC-101", target_port="Input"),
        *loop.links[1:],
    )
    loop = replace(loop, tags=(*loop.tags, head), links=links)
    loop = sketch.with_port(loop, "TIC-101", "Input", signal="4-20mA")
    return sketch.with_settings(loop, "TIC-101", input_signal="4-20mA")


def mixed_bases() -> Loop:
    """At 250: 0.15 % of reading, 0.1 % of an upper limit of 1000 and 0.2 % of a span of 1500; 3 is required."""
    loop = replace(budgeted("A", "0", "0"), normal_value=number(250), required_accuracy=number(3))
    loop = sketch.with_settings(loop, "TIC-101", range=span("0-1500 degC"))
    loop = sketch.with_model(loop, "TIC-101", accuracy=number("0.2"), accuracy_basis=AccuracyBasis.SPAN)
    loop = sketch.with_model(
        loop,
        "TT-101",
        accuracy=number("0.1"),
        accuracy_basis=AccuracyBasis.UPPER_LIMIT,
        range_limits=span("0-1000 degC"),
    )
    isolator = Model(
        maker="Quarrymoor",
        name="Isolator 2",
        kind=ModelKind.SIGNAL_CONDITIONER,
        isolates=True,
        accuracy=number("0.15"),
        accuracy_basis=AccuracyBasis.READING,
    )
    sensor = loop.tag("TE-101")
    return sketch.with_tag(
        sketch.with_tag(loop, "TE-101", role=Role.SIGNAL_CONDITIONER, specified=isolator, asset=None),
        "TE-101",
        ports=sensor.ports,
    )


def fuel_valve(fails: FailPosition) -> Loop:
    return sketch.with_tag(sketch.temperature_loop(), "TV-101", safe_position=FailPosition.CLOSED, fail_position=fails)


def tuned(**settings) -> Loop:
    """A controller that takes gain and seconds in the ideal form."""
    loop = sketch.with_model(sketch.temperature_loop(), "TIC-101", proportional_as=ProportionalAs.GAIN)
    return sketch.with_settings(loop, "TIC-101", **settings)


def keyed_as_gain() -> Loop:
    """A proportional band of 50 %, entered as a gain of 2.0."""
    loop = tuned(proportional=number(50))
    left = replace(loop.tag("TIC-101").settings, proportional=number("2.0"), proportional_as=ProportionalAs.GAIN)
    return sketch.with_tag(loop, "TIC-101", as_left=left)


def framed(width: str, height: str, hole_width: str, hole_height: str) -> Loop:
    loop = sketch.with_model(
        sketch.temperature_loop(), "TIC-101", front_width_mm=number(width), front_height_mm=number(height)
    )
    return sketch.with_tag(loop, "TIC-101", cutout_width_mm=number(hole_width), cutout_height_mm=number(hole_height))


def stored(*, capacitance: str, li_mh: str) -> Loop:
    """Co 83 nF, Lo 4.2 mH; Ci 5 nF, and 300 m of cable."""
    loop = sketch.barrier_loop(capacitance_pf_per_m=capacitance)
    return sketch.with_model(loop, "PT-201", ex=replace(loop.tag("PT-201").model.ex, li_mh=number(li_mh)))


def indicator_in_the_field() -> Loop:
    loop = sketch.series_loop(isolated=True)
    return sketch.with_tag(loop, "PI-201", location=Location.FIELD, zone="1")


def simple_apparatus() -> Loop:
    loop = sketch.with_tag(sketch.temperature_loop(), "TE-101", zone="1", gas_group="IIB", ignition_c=number(425))
    return sketch.with_model(loop, "TE-101", ex=ExData(simple_apparatus=True, temperature_class="T4"))


def fed_by_isolator(needs_v: str) -> Loop:
    """An isolator that gives 16.5 V at the transmitter."""
    loop = sketch.barrier_loop()
    sender = replace(loop.tag("PT-201").model.ports[0], min_terminal_v=number(needs_v))
    return sketch.with_model(loop, "PT-201", ports=(sender,))


def tagged(loop: Loop, old: str, new: str) -> Loop:
    return sketch.renamed(loop, old, new)


T, P = sketch.temperature_loop, sketch.pressure_loop
HEATER = sketch.thermocouple_loop()

EXAMPLES = (
    # A. Sensors and inputs
    Example(  # NIST Monograph 175, terminals at 25 °C
        "R01", "sensor-and-input-differ", sketch.thermocouple_loop(couple="tc-K", input_signal="tc-J"),
        "at a true 500 °C it shows 383.2 °C", (sketch.thermocouple_loop(),),
    ),
    Example(  # JIS C 1604:1981 against IEC 60751
        "R02", "platinum-curve-differs", replace(sketch.platinum_loop("pt100-3916"), normal_value=number(250)),
        "at a true 250 °C it shows 254.37 °C", (sketch.platinum_loop("pt100"),),
    ),
    Example(  # IEC 60751
        "R03", "sensor-and-input-differ",
        sketch.with_port(T(range_="0-50 degC"), "TE-101", "Element", signal="pt1000"),
        "at 25 °C it has 1097.35 Ω, the input takes 18.52 to 390.48 Ω: it stays at the top",
        (sketch.two_wire_pt_loop(signal="pt1000"),),
    ),
    Example(  # Ohm's law: 20 mA through 250 Ω is 5.000 V
        "R04", "signals-of-different-kind",
        sketch.with_settings(
            sketch.with_port(P(), "PIC-201", "Input", signal="1-5V"), "PIC-201", input_signal="1-5V"
        ),
        "PT-201 Output gives 4–20 mA, Input takes 1–5 V",
        (
            sketch.with_link(
                sketch.with_settings(
                    sketch.with_port(P(), "PIC-201", "Input", signal="1-5V"), "PIC-201", input_signal="1-5V"
                ),
                "PIC-201", "Input", shunt_ohm=number(250),
            ),
        ),
    ),
    Example(  # IEC 60584-1, class 2
        "R05", "range-beyond-sensor",
        sketch.with_model(
            sketch.thermocouple_loop(couple="tc-T", input_signal="tc-T", range_="0-600 degC"), "TE-301",
            range_limits=None,
        ),
        "works to 0–600 °C; such a sensor is good for −270 to 350 °C",
        (sketch.with_model(sketch.thermocouple_loop(range_="0-800 degC"), "TE-301", range_limits=None),),
    ),
    Example(  # IEC 60751, table 3
        "R06", "class-claimed-outside-its-range",
        sketch.with_model(T(range_="0-400 degC"), "TE-101", construction="film"),
        "class A (film) holds from −30 to 300 °C", (T(range_="0-400 degC"),),
    ),
    Example(  # law of intermediate temperatures, NIST Monograph 175
        "R07", "wrong-extension-cable", couple_loop(designation="JX"),
        "at a true 400 °C, head 60 °C and panel 25 °C, it reads 409.5 °C",
        (couple_loop(designation="KX"), couple_loop(designation="KCA")),
    ),
    Example("R07", "wrong-extension-cable", couple_loop(designation="copper"), "it reads 365.9 °C"),
    Example(  # IEC 60584-3
        "R08", "extension-cable-too-hot",
        sketch.with_tag(couple_loop(designation="KCB"), "TE-301", ambient_c=number(140)),
        "reaches 140 °C; KCB is made for 0 to 100 °C",
        (sketch.with_tag(couple_loop(designation="KX"), "TE-301", ambient_c=number(140)),),
    ),
    Example(  # NIST Monograph 175; IEC 60584-3 colours
        "R09", "extension-cores-crossed", coloured(couple_loop(), "white", "green"), "it reads 331.6 °C",
        (coloured(couple_loop(), "green", "white"),),
    ),
    Example(  # 3.096 mV looked up directly
        "R10", "cold-junction-missing",
        sketch.with_settings(HEATER, "TIC-301", cold_junction=ColdJunction.NONE),
        "with terminals at 25 °C a true 100 °C reads 76 °C", (HEATER,),
    ),
    Example(
        "R11", "wires-at-sensor-and-input-differ", sketch.with_settings(T(), "TIC-101", input_wires=2),
        "TE-101 has 3 wires, the input is set to 2", (T(),),
    ),
    Example(  # IEC 60228: 36.0 Ω/km; IEC 60751: 0.379 Ω per °C, class B 0.8 °C at 100 °C
        "R12", "lead-error-too-large", sketch.two_wire_pt_loop(signal="pt100"),
        "add 1.44 Ω, so at 100 °C it reads 3.8 °C high; class B allows 0.8 °C",
        (sketch.two_wire_pt_loop(signal="pt1000"),),
    ),
    Example(
        "R13", "type-b-at-low-temperature",
        sketch.with_alarm(sketch.type_b_loop(), "TIC-302", "Alarm 1", kind=AlarmKind.LOW, set_point=number(80)),
        "Alarm 1 is 80 °C; type B tells nothing below 250 °C", (sketch.type_b_loop(),),
    ),
    Example(
        "R14", "fault-reads-safe", sketch.with_settings(HEATER, "TIC-301", sensor_break=FaultDirection.DOWNSCALE),
        "the danger is high, but on a fault its reading goes downscale", (HEATER,),
    ),
    Example(  # IEC 60751: 0.3 + 0.005 × 200
        "R15", "sensor-uses-up-accuracy", sketch.accuracy_loop(tolerance_class="B"),
        "class B is good to 1.3 °C at 200 °C; the whole loop must be good to 1 °C",
        (sketch.accuracy_loop(tolerance_class="A"),),
    ),
    # B. Analogue signals and cables
    Example(  # IEC 60381-1
        "R16", "live-zero-differs",
        sketch.with_settings(
            sketch.with_port(P(), "PIC-201", "Input", signal="0-20mA"), "PIC-201", input_signal="0-20mA"
        ),
        "at 0 % it shows 20 %, at 50 % it shows 60 %", (P(),),
    ),
    Example(
        "R17", "ends-scaled-differently", transmitter_of("0-400 kPa (gauge)"),
        "at a true 400 kPa (gauge) it shows 500 kPa (gauge), 20 % of span out",
        (transmitter_of("0-500 kPa (gauge)"),),
    ),
    Example(  # NIST SP 811: 6 bar is 87.02 psi
        "R18", "ends-scaled-differently",
        sketch.with_port(P(range_="0-6 psig"), "PT-201", "Output", range=span("0-6 bar (gauge)")),
        "PT-201 sends 0–6 bar (gauge), PIC-201 reads 0–6 psi (gauge)",
        (sketch.with_port(P(range_="0-87.02 psig"), "PT-201", "Output", range=span("0-6 bar (gauge)")),),
    ),
    Example(
        "R18", "ends-of-different-dimension",
        sketch.with_port(P(), "PT-201", "Output", range=span("0-10 bar (absolute)")),
        "PT-201 sends 0–10 bar (absolute), Input reads 0–10 bar (gauge): 1.01 bar apart", (P(),),
    ),
    Example(
        "R19", "reversed-at-one-end", sketch.with_port(P(), "PT-201", "Output", reversed=True),
        "PT-201 Output is reversed, PIC-201 Input is not: at a true 20 % it shows 80 %",
        (
            sketch.with_port(
                sketch.with_port(P(), "PT-201", "Output", reversed=True), "PIC-201", "Input", reversed=True
            ),
        ),
    ),
    Example(  # ISO 5167: the root of a quarter is a half
        "R20", "root-not-extracted-once", sketch.flow_loop(root_in_transmitter=True, root_in_controller=True),
        "twice between FT-501 and FIC-501: at a true 50 % of flow it shows 70.7 %",
        (sketch.flow_loop(root_in_transmitter=True, root_in_controller=False),),
    ),
    Example(
        "R20", "root-not-extracted-once", sketch.flow_loop(root_in_transmitter=False, root_in_controller=False),
        "nowhere between FT-501 and FIC-501: at a true 50 % of flow it shows 25 %",
    ),
    Example(
        "R21", "low-flow-cutoff-missing",
        sketch.with_settings(sketch.flow_loop(), "FIC-501", low_cutoff_percent=number(0)),
        "its low-flow cut-off is 0 %",
        (sketch.with_settings(sketch.flow_loop(), "FIC-501", low_cutoff_percent=number(6)),),
    ),
    Example(
        "R22", "two-wire-supply-not-one", sketch.without_link(P(), "PT-201", "Supply"),
        "nothing in its circuit gives it a supply; PIC-201 Input is passive", (P(),),
    ),
    Example(
        "R23", "powered-from-both-ends", sketch.four_wire_loop(input_feeds=True),
        "Output feeds the circuit, and so does PIC-201 Input", (sketch.four_wire_loop(input_feeds=False),),
    ),
    Example(
        "R23", "two-wire-supply-not-one", sketch.with_port(P(), "PIC-201", "Input", supplies_loop=True),
        "its circuit has 2 supplies: PIC-201 Input, PIC-201 Supply 24 V",
    ),
    Example(  # Ohm's law: 24 − 0.0225 × (250 + 350 + 72)
        "R24", "too-little-voltage",
        burdened(
            input_ohm="250", barrier_ohm="350", csa="0.5", length="1000", needs_v="10.5", failure_high_ma="22.5"
        ),
        "through 672 Ω at 22.5 mA 8.88 V are left, 10.5 V needed",
        (burdened(input_ohm="250", csa="1.5", length="300", needs_v="10.5", failure_high_ma="20"),),
    ),
    Example(  # Ohm's law: 24 − 0.020 × (250 + 7.26) = 18.85
        "R24", "too-little-voltage",
        burdened(input_ohm="250", csa="1.5", length="300", needs_v="18.9", failure_high_ma="20"),
        "at 20 mA 18.85 V are left, 18.9 V needed",
        (burdened(input_ohm="250", csa="1.5", length="300", needs_v="18.85", failure_high_ma="20"),),
    ),
    Example(  # 50 Ω, and there and back through 300 m and 60 m of 1.5 mm² at 12.1 Ω/km (IEC 60228, class 2)
        "R25", "digital-messages-swallowed", sketch.digital_loop(input_ohm="50"),
        "its digital messages need 230 Ω in the circuit; there are 58.7 Ω",
        (sketch.digital_loop(input_ohm="250"), sketch.burden_loop(input_ohm="50", csa_mm2="1.5", length_m="300")),
    ),
    Example(  # NAMUR NE 43
        "R26", "fault-current-not-recognised",
        sketch.with_settings(P(), "PIC-201", fault_above_ma=number("22.0")),
        "PT-201 fails to 21.5 mA; the input declares a fault at 22.0 mA and above",
        (sketch.with_settings(P(), "PIC-201", fault_above_ma=number("21.0")),),
    ),
    Example(  # 4 + 16 × 1.05
        "R27", "alarm-outside-range", sketch.with_alarm(P(), "PIC-201", "Alarm 1", set_point=number("10.5")),
        "105 % of it, 20.8 mA", (sketch.with_alarm(P(), "PIC-201", "Alarm 1", set_point=number("9.2")),),
    ),
    Example(
        "R28", "current-output-overloaded", driven(positioner_ohm="400", barrier_ohm="280"),
        "Output 1 drives 600 Ω; PY-9 280 Ω, TV-101 400 Ω, cable 24 Ω make 704 Ω", (driven(positioner_ohm="400"),),
    ),
    Example(
        "R29", "voltage-signal-too-far", sketch.voltage_loop(length_m="180"), "0–10 V runs 180 m to PIC-201",
        (
            sketch.voltage_loop(length_m="3"),
            sketch.with_cable(P(), "PIC-201", "Input", length_m=number(180)),
        ),
    ),
    Example(
        "R30", "screen-not-earthed-once",
        sketch.with_cable(T(), "TIC-101", "Input", screen_earthed_at=("junction box", "panel")),
        "the screen of C-1011 is earthed at junction box and panel", (T(),),
    ),
    Example(
        "R31", "two-earthed-readers", sketch.series_loop(isolated=False),
        "PI-201 and PIC-201 are in series on Output, each with an earthed input", (sketch.series_loop(isolated=True),),
    ),
    Example(
        "R32", "signals-and-power-in-one-cable",
        sketch.with_surroundings(
            HEATER, cables=(CableFill(cable="C-3011", cores_used=4, cores_claimed=4, signals=("mains", "tc-K")),)
        ),
        "C-3011 carries type K thermocouple beside mains", (HEATER,),
    ),
    Example(  # thirteen pairs in a twelve-pair cable
        "R33", "cable-too-small",
        sketch.with_surroundings(
            sketch.with_cable(T(), "TIC-101", "Input", cores=24),
            cables=(CableFill(cable="C-1011", cores_used=26, cores_claimed=26),),
        ),
        "C-1011 has 24 cores; 26 are in use",
        (
            sketch.with_surroundings(
                sketch.with_cable(T(), "TIC-101", "Input", cores=24),
                cables=(CableFill(cable="C-1011", cores_used=20, cores_claimed=20),),
            ),
        ),
    ),
    # C. Control functions
    Example(
        "R34", "set-point-limits-outside-range",
        sketch.with_settings(T(range_="0-400 degC"), "TIC-101", set_point_high=number(450)),
        "the upper set-point limit is 450 °C, the range is 0–400 °C",
        (
            sketch.with_settings(
                T(range_="0-400 degC"), "TIC-101", set_point_low=number(20), set_point_high=number(350)
            ),
        ),
    ),
    Example(
        "R35", "remote-set-point-scaled-differently",
        sketch.cascade(source_range="0-600 degC", target_range="0-400 degC"), "asked for 600 °C, it works to 400 °C",
        (sketch.cascade(source_range="0-400 degC", target_range="0-400 degC"),),
    ),
    Example(
        "R36", "remote-set-point-beyond-limits",
        sketch.with_settings(
            sketch.cascade(source_range="0-400 degC", target_range="0-400 degC"), "TIC-102",
            set_point_low=number(50), set_point_high=number(300),
        ),
        "can ask for 0–400 °C; its set-point limits are 50 °C to 300 °C",
        (
            sketch.with_settings(
                sketch.cascade(source_range="0-300 degC", target_range="0-300 degC"), "TIC-102",
                set_point_low=number(0), set_point_high=number(300),
            ),
        ),
    ),
    Example(
        "R37", "alarm-outside-range",
        sketch.with_alarm(P(range_="0-250 kPa (gauge)"), "PIC-201", "Alarm 1", set_point=number(280)),
        "is set to 280 kPa (gauge), the range is 0–250 kPa (gauge)",
        (sketch.with_alarm(P(range_="0-250 kPa (gauge)"), "PIC-201", "Alarm 1", set_point=number(230)),),
    ),
    Example(
        "R38", "alarm-drives-nothing",
        sketch.with_alarm(
            T(range_="0-400 degC"), "TIC-101", "Alarm 1", kind=AlarmKind.HIGH_HIGH, set_point=number(320), output=""
        ),
        "Alarm 1 (high-high) drives no output",
        (
            sketch.with_alarm(
                T(range_="0-400 degC"), "TIC-101", "Alarm 1", kind=AlarmKind.HIGH_HIGH, set_point=number(320)
            ),
        ),
    ),
    Example(
        "R38", "alarm-output-without-alarm", sketch.with_tag(T(), "TIC-101", alarms=()), "no alarm drives Relay 2",
        (T(),),
    ),
    Example(
        "R39", "alarms-out-of-order", sketch.alarm_pair_loop(high="90", high_high="88"),
        "Alarm 1 (high) at 90 °C is not below Alarm 2 (high-high) at 88 °C",
        (sketch.alarm_pair_loop(high="85", high_high="92"),),
    ),
    Example(
        "R40", "heat-and-cool-with-one-output",
        sketch.with_settings(T(), "TIC-101", control=ControlForm.HEAT_COOL), "has only a heating output",
        (sketch.heat_cool_loop(), sketch.split_range_loop(first=("0", "49"), second=("51", "100"))),
    ),
    Example(  # (+1)(+1)(+1) = +1
        "R41", "sign-round-the-loop", sketch.with_settings(T(), "TIC-101", action=Action.DIRECT),
        "its action is direct; TV-101 opens as its signal rises and the measured value rises as it opens, so it must "
        "be reverse",
        (sketch.with_settings(T(), "TIC-101", action=Action.REVERSE),),
    ),
    Example(
        "R42", "fails-to-unsafe-position", fuel_valve(FailPosition.OPEN), "it fails open; the safe position is closed",
        (fuel_valve(FailPosition.CLOSED),),
    ),
    Example(
        "R43", "split-range-does-not-meet", sketch.split_range_loop(first=("0", "55"), second=("45", "100")),
        "TV-401B ends at 55 %, TV-401 begins at 45 %: 10 % of overlap",
        (sketch.split_range_loop(first=("0", "49"), second=("51", "100")),),
    ),
    Example(
        "R44", "cascade-speeds-alike",
        sketch.with_settings(
            sketch.with_settings(sketch.cascade(), "TIC-110", integral=number(90)), "TIC-102", integral=number(60)
        ),
        "its integral time is 60 s, that of TIC-110 90 s: 1.5 times as quick",
        (
            sketch.with_settings(
                sketch.with_settings(sketch.cascade(), "TIC-110", integral=number(240)), "TIC-102",
                integral=number(10),
            ),
        ),
    ),
    Example(  # K(1 + Td/Ti), Ti + Td, Ti Td/(Ti + Td)
        "R45", "tuning-of-another-form",
        tuned(
            proportional=number(2), proportional_as=ProportionalAs.GAIN, integral=number(40), derivative=number(20),
            pid_form=PidForm.SERIES,
        ),
        "it needs gain 3, integral 60 s, derivative 13.33 s", (keyed_as_gain(),),
    ),
    Example(
        "R46", "derivative-implausible",
        sketch.with_settings(T(), "TIC-101", integral=number(20), derivative=number(15)),
        "its derivative time of 15 s is 0.75 of its integral time of 20 s",
        (sketch.with_settings(T(), "TIC-101", integral=number(120), derivative=number(30)),),
    ),
    Example(  # 31,536,000 s a year, one operation in 2 s
        "R47", "cycle-time-does-not-suit",
        sketch.with_settings(sketch.relay_heater_loop(), "TIC-101", cycle_time_s=number(2)),
        "on a 2 s cycle: 15.8 million operations a year",
        (
            sketch.with_settings(sketch.relay_heater_loop(), "TIC-101", cycle_time_s=number(30)),
            sketch.with_settings(sketch.ssr_loop(), "TIC-101", cycle_time_s=number(2)),
        ),
    ),
    # D. Outputs, boards and supplies
    Example(  # 3 kW at 230 V is 13.0 A
        "R48", "contact-overloaded", sketch.relay_heater_loop(load_a="13.0", kind=LoadKind.RESISTIVE),
        "is rated 2 A for a resistive load; TZ-101 takes 13.0 A",
        (sketch.relay_heater_loop(load_a="0.05", kind=LoadKind.COIL),),
    ),
    Example(
        "R49", "logic-drive-does-not-suit",
        sketch.ssr_loop(
            load_kind=LoadKind.COIL, load_v_min=number(207), load_v_max=number(253), load_a=number("0.05")
        ),
        "gives 12 V; TZ-101 is switched by 207 to 253 V", (sketch.ssr_loop(),),
    ),
    Example(
        "R50", "leakage-holds-load", sketch.triac_loop(load_a="0.004"), "leaks 2 mA when off; TZ-101 takes 4 mA",
        (sketch.triac_loop(load_a="0.045"),),
    ),
    Example(
        "R51", "output-without-board",
        sketch.with_boards(sketch.recorder_loop(sent="0-1200 degC", read="0-1200 degC"), "TIC-301", bay_3=None),
        "Output 3 (4–20 mA, retransmission) needs a board in bay 3, which is empty",
        (sketch.recorder_loop(sent="0-1200 degC", read="0-1200 degC"),),
    ),
    Example(
        "R51", "input-without-board", sketch.with_boards(sketch.bus_loop(), "TIC-101", bay_3=None),
        "Serial (serial) needs a board in bay 3, which is empty", (sketch.bus_loop(),),
    ),
    Example(
        "R52", "board-unused", sketch.with_settings(sketch.bus_loop(), "TIC-101", serial=None),
        "Serial board in bay 3 has no bus and no address", (sketch.bus_loop(),),
    ),
    Example(
        "R53", "motorised-valve-without-two-outputs",
        sketch.with_settings(
            sketch.with_boards(
                sketch.with_port(T(), "TIC-101", "Output 1", signal="relay-contact"), "TIC-101",
                bay_1=sketch.relay_board(),
            ),
            "TIC-101", control=ControlForm.MOTORISED_VALVE,
        ),
        "it drives a motorised valve by 1 switching output; it needs two", (sketch.motorised_valve_loop(),),
    ),
    Example(
        "R54", "retransmission-scaled-differently", sketch.recorder_loop(sent="0-1200 degC", read="0-1000 degC"),
        "TIC-301 sends 0–1200 °C, TR-301 reads 0–1000 °C",
        (sketch.recorder_loop(sent="0-1200 degC", read="0-1200 degC"),),
    ),
    Example(
        "R55", "supply-voltage-differs",
        sketch.with_model(T(), "TIC-101", supply_low_v=number(24), supply_high_v=number(24)),
        "230 V is at the place; Fennel Row Regent 96 takes 24 V", (T(),),
    ),
    Example(  # IEC 61554
        "R56", "front-does-not-fit-cutout", framed("48", "96", "92", "45"), "needs 45 (+0.6) × 92 (+0.8) mm",
        (framed("48", "96", "45", "92"), framed("96", "96", "92.4", "92.5")),
    ),
    Example("R56", "front-does-not-fit-cutout", framed("96", "96", "96", "96"), "the hole is 96 × 96 mm"),
    # E. Serial buses
    Example(
        "R57", "duplicate-address", sketch.bus_loop(address=2, others=("1", "2", "5")), "on bus A has address 2 too",
        (sketch.bus_loop(address=2, others=("1", "3", "5")),),
    ),
    Example(
        "R58", "address-out-of-range", sketch.bus_loop(address=250),
        "its address is 250: 248 to 255 are reserved", (sketch.bus_loop(address=247),),
    ),
    Example(  # TIA-485-A
        "R59", "bus-overloaded", sketch.bus_loop(unit_loads=((20, "1"), (30, "0.5"))),
        "50 stations on bus A make 35 unit loads; 32 are allowed",
        (sketch.bus_loop(unit_loads=((10, "1"), (40, "0.25"), (8, "0.125"))),),
    ),
    Example(
        "R60", "line-settings-differ",
        sketch.bus_loop(parity="none", others=tuple(str(address) for address in range(2, 19))),
        "its parity is none; bus A works with even", (sketch.bus_loop(),),
    ),
    Example(
        "R60", "bus-not-terminated-at-its-ends", sketch.bus_loop(terminated=3), "bus A is terminated at 3 stations",
        (sketch.bus_loop(terminated=2),),
    ),
    # F. Hazardous areas and safety
    Example(  # IEC 60079-14; 5 nF + 300 m × 110 pF/m = 38 nF against 83 nF
        "R61", "entity-parameters-exceeded", sketch.barrier_loop(ui_v="26"), "Uo 28 V is above Ui 26 V",
        (sketch.barrier_loop(ui_v="30"),),
    ),
    Example(  # IEC 60079-14 defaults: 450 m × 200 pF/m = 90 nF
        "R62", "safe-circuit-cable-not-recorded", sketch.barrier_loop(length_m="450", capacitance_pf_per_m=None),
        "Ci and cable make 95 nF, 83 nF are allowed",
        (sketch.barrier_loop(length_m="300", capacitance_pf_per_m=None),),
    ),
    Example(  # 5 nF + 300 m × 150 pF/m = 50 nF
        "R63", "entity-parameters-exceeded", stored(capacitance="150", li_mh="0.1"),
        "Ci and cable make 50 nF, 41.5 nF are allowed", (stored(capacitance="150", li_mh="0.01"),),
    ),
    Example(
        "R64", "gas-group-does-not-suit", sketch.zoned_loop(group="IIB", area_group="IIC"),
        "it is certified for IIB; the area is IIC", (sketch.zoned_loop(group="IIC", area_group="IIB"),),
    ),
    Example(
        "R64", "protection-does-not-suit-zone", sketch.zoned_loop(zone="0", protection="ib"),
        "it stands in zone 0, protected by ib; the zone allows ia",
        (sketch.zoned_loop(zone="1", protection="ib"), sketch.zoned_loop(zone="2", protection="ic")),
    ),
    Example(  # IEC 60079-0
        "R65", "temperature-class-too-weak", sketch.zoned_loop(temperature_class="T2", ignition_c="240"),
        "it is of class T2 (300 °C); the gas ignites at 240 °C",
        (sketch.zoned_loop(temperature_class="T3", ignition_c="240"),),
    ),
    Example(
        "R66", "not-certified-for-area", indicator_in_the_field(),
        "it stands in zone 1; Fennel Row Dial 4 has no certificate and is not declared simple apparatus",
        (simple_apparatus(),),
    ),
    Example(  # Ohm's law: 24 − 0.020 × (340 + 250)
        "R67", "too-little-voltage",
        burdened(input_ohm="250", barrier_ohm="340", needs_v="12.5", failure_high_ma="20"),
        "through 590 Ω at 20 mA 12.2 V are left, 12.5 V needed", (fed_by_isolator("12.5"),),
    ),
    Example(
        "R68", "trip-shares-sensor", sketch.with_alarm(T(), "TIC-101", "Alarm 1", trip=True),
        "it controls, and its Alarm 1 trips from the same measurement", (sketch.trip_loop(),),
    ),
    Example(  # IEC 61508-6: 2.5e-6 × 8760 / 2; passes: 0.00657 + 0.002
        "R69", "sil-target-missed", sketch.trip_loop(final_failures="2.5e-6"),
        "final element 0.01095 make 0.01295: SIL 1", (sketch.trip_loop(final_failures="1.5e-6"),),
    ),
    Example(
        "R70", "trip-energises",
        sketch.with_alarm(sketch.trip_loop(), "TSHH-601", "Trip", coil=CoilState.ENERGISES),
        "Trip energises to trip and its line is not monitored", (sketch.trip_loop(),),
    ),
    Example(  # ISA-67.04
        "R71", "trip-too-close", sketch.trip_loop(trip_at="249.0"),
        "Trip at 249 °C is 1 °C from the safe limit 250 °C; the loop is good to 1.5 °C",
        (sketch.trip_loop(trip_at="246.0"),),
    ),
    # G. Accuracy and calibration
    Example(  # √(1.3² + 0.5² + 0.5²); passes: √(0.55² + 0.4² + 0.4²) = 0.79
        "R72", "accuracy-budget-exceeded", budgeted("B", "0.5", "0.5"), "is good to 1.48 °C; 1 °C is required",
        (budgeted("A", "0.4", "0.4"),),
    ),
    Example(  # √(0.375² + 1.0² + 3.0²)
        "R73", "accuracy-budget-exceeded", mixed_bases(), "is good to 3.18 °C; 3 °C is required",
        (replace(mixed_bases(), required_accuracy=number("3.2")),),
    ),
    Example(
        "R74", "turndown-too-large",
        sketch.with_model(
            sketch.pressure_loop(range_="0-25 mbar (gauge)"), "PT-201", minimum_span=None,
            range_limits=span("0-2500 mbar (gauge)"),
        ),
        "is 100:1",
        (
            sketch.with_model(
                sketch.pressure_loop(range_="0-400 mbar (gauge)"), "PT-201", minimum_span=None,
                range_limits=span("0-2500 mbar (gauge)"),
            ),
        ),
    ),
    Example(
        "R75", "calibrated-range-is-not-working-range",
        sketch.with_tag(
            P(range_="0-250 kPa (gauge)"), "PT-201",
            calibration=sketch.calibrated_loop(calibrated="0-400 kPa (gauge)").tag("PT-201").calibration,
        ),
        "it was calibrated 0–400 kPa (gauge) and works 0–250 kPa (gauge)",
        (
            sketch.with_tag(
                P(range_="0-250 kPa (gauge)"), "PT-201",
                calibration=sketch.calibrated_loop(calibrated="0-250 kPa (gauge)").tag("PT-201").calibration,
            ),
        ),
    ),
    Example(  # (12.05 − 12.00)/16
        "R76", "calibration-incomplete",
        sketch.calibrated_loop(points=3, as_found_recorded=False, worst_error_percent="0.31"),
        "3 points instead of five; nothing recorded as found; 0.31 % of span against 0.25 %",
        (sketch.calibrated_loop(points=5, worst_error_percent="0.19"),),
    ),
    Example(
        "R77", "standard-not-good-enough",
        sketch.calibrated_loop(tolerance_percent="0.1", standard_uncertainty_percent="0.04"),
        "tolerance 0.1 %, standard 0.04 %: 2.5 to 1",
        (sketch.calibrated_loop(tolerance_percent="0.25", standard_uncertainty_percent="0.05"),),
    ),
    Example(  # tested on 10 January 2025: 19 months ago
        "R78", "proof-test-overdue", sketch.with_surroundings(sketch.trip_loop(), today=date(2026, 8, 10)),
        "its proof test was due on 2026-01-10; the last was on 2025-01-10, the interval is 12 months",
        (sketch.trip_loop(),),
    ),
    Example(  # calibrated on 10 February 2025: 19 and 11 months ago
        "R78", "calibration-overdue", sketch.with_surroundings(sketch.calibrated_loop(), today=date(2026, 9, 10)),
        "it was due on 2026-02-10; calibrated last on 2025-02-10, every 12 months",
        (sketch.with_surroundings(sketch.calibrated_loop(), today=date(2026, 1, 10)),),
    ),
    # H. Identity, spares and the panel
    Example(
        "R79", "tag-letters-do-not-fit", tagged(P(), "PT-201", "TT-201"),
        "T stands for temperature, but its range 0–10 bar (gauge) is of pressure", (P(),),
    ),
    Example("R79", "tag-letters-do-not-fit", tagged(P(), "PT-201", "LHAH-201"), "out of order"),
    Example(
        "R80", "member-of-another-loop", tagged(sketch.flow_loop(), "FV-501", "FV-502"),
        "its number is 502, the loop is F-501", (sketch.flow_loop(),),
    ),
    Example(
        "R81", "loop-lacks-member", sketch.without_tag(T("310"), "TV-310"), "it has no final element", (T("310"),),
    ),
    Example(  # 40 + 160/(5.5 × 1.6) = 58.2 °C; 40 W: 44.5 °C
        "R84", "ambient-beyond-rating",
        sketch.with_tag(
            sketch.with_model(T(), "TIC-101", ambient_max_c=number(50)), "TIC-101", ambient_c=Decimal("58.2")
        ),
        "its place reaches 58.2 °C; Fennel Row Regent 96 is made for 50 °C",
        (
            sketch.with_tag(
                sketch.with_model(T(), "TIC-101", ambient_max_c=number(50)), "TIC-101", ambient_c=Decimal("44.5")
            ),
        ),
    ),
)  # fmt: skip
