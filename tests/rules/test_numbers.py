"""Findings state the numbers of the trade's worked examples."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from msgspec.structs import replace

from register.plant import sketch
from register.plant.words import CoilState, ColdJunction, ControlForm, FailPosition, FaultDirection, LoadKind
from register.rules.engine import all_rules, check

number = sketch.number


def said(slug, loop, tolerance=None):
    return [found.text for found in all_rules()[slug].findings(loop, tolerance)]


def unknowns(slug, loop):
    return [found.text for found in all_rules()[slug].findings(loop) if found.unknown]


@pytest.mark.parametrize(
    ("slug", "phrase"),
    [
        # NIST Monograph 175: type K at 500 °C, terminals 25 °C, input set to J
        ("sensor-and-input-differ", "at a true 500 °C it shows 383.2 °C"),
        # law of intermediate temperatures: type K at 400 °C, head 60 °C, panel 25 °C, cable JX
        ("wrong-extension-cable", "it reads 409.5 °C"),
        # NIST Monograph 175: 3.096 mV looked up directly
        ("cold-junction-missing", "a true 100 °C reads 76 °C"),
        # IEC 60228 and IEC 60751: 20 m of 0.5 mm² at 36.0 Ω/km
        ("lead-error-too-large", "add 1.44 Ω, so at 100 °C it reads 3.8 °C high; class B allows 0.8 °C"),
        # IEC 60381-1: 4–20 mA at 50 % into 0–20 mA
        ("live-zero-differs", "at 0 % it shows 20 %, at 50 % it shows 60 %"),
        # square law (ISO 5167): the root of the root of a quarter
        ("root-not-extracted-once", "twice between FT-501 and FIC-501: at a true 50 % of flow it shows 70.7 %"),
        # Ohm's law
        ("too-little-voltage", "gives 24 V; through 673.5 Ω at 21.5 mA 9.52 V are left, 10.5 V needed"),
        # makers' ratings: two positioners of 400 Ω and 2 × 60 m of 1.5 mm² at 12.1 Ω/km
        ("current-output-overloaded", "drives 600 Ω; TV-101 400 Ω, TV-101B 400 Ω, cable 2.9 Ω make 802.9 Ω"),
        # 3 kW at 230 V is 13.0 A
        ("contact-overloaded", "is rated 2 A for a resistive load; TZ-101 takes 13.0 A"),
        # 365 days of 86,400 s at one operation in 2 s
        ("cycle-time-does-not-suit", "15.8 million operations a year"),
        # algebra of the PID forms: Kc 2, Ti 40 s, Td 20 s in series is 3.0, 60 s, 13.3 s
        ("tuning-of-another-form", "it needs proportional band 33.33 %, integral 60 s, derivative 13.33 s"),
        # common practice: 20 nodes at 1 and 30 at a half unit load (TIA-485-A)
        ("bus-overloaded", "make 35 unit loads"),
        # IEC 60079-14
        ("entity-parameters-exceeded", "Uo 28 V is above Ui 26 V. The certificate and a competent person decide"),
        ("temperature-class-too-weak", "class T2 (300 °C); the gas ignites at 240 °C"),
        # IEC 61508-6: 2.5e-6 per hour, tested yearly
        ("sil-target-missed", "final element 0.01095 make 0.01295: SIL 1"),
        # IEC 60751: class A at 200 °C is 0.55 °C; 0.1 % of 400 °C besides
        ("accuracy-budget-exceeded", "is good to 0.68 °C; 0.6 °C is required. The most is from TE-101: 0.55 °C"),
        ("sensor-uses-up-accuracy", "class B is good to 1.3 °C at 200 °C; the whole loop must be good to 1 °C"),
        # ISA-67.04
        ("trip-too-close", "Trip at 249 °C is 1 °C from the safe limit 250 °C; the loop is good to 1.5 °C"),
        # IEC 61298-2: 12.05 mA at mid-scale
        (
            "calibration-incomplete",
            "3 points instead of five; nothing recorded as found; 0.31 % of span against 0.25 %",
        ),
        ("standard-not-good-enough", "tolerance 0.1 %, standard 0.04 %: 2.5 to 1"),
        ("turndown-too-large", "is 100:1"),
        # IEC 61554: 92 +0.8 mm
        ("front-does-not-fit-cutout", "needs 92 (+0.8) × 92 (+0.8) mm"),
        ("remote-set-point-scaled-differently", "asked for 600 °C, it works to 400 °C"),
        ("ends-scaled-differently", "at a true 8 bar (gauge) it shows 10 bar (gauge), 20 % of span out"),
        ("cascade-speeds-alike", "1.5 times as quick"),
        ("split-range-does-not-meet", "10 % of overlap"),
        ("supply-overloaded", "gives 30 mA; 2 circuits take 44 mA: PT-201, PT-202"),
        ("extension-cable-too-hot", "reaches 140 °C; KCB is made for 0 to 100 °C"),
        ("voltage-signal-too-far", "0–10 V runs 180 m"),
    ],
)
def test_the_flagged_example_states_the_published_number(slug, phrase):
    assert phrase in " | ".join(said(slug, all_rules()[slug].wrong))


@pytest.mark.parametrize(
    ("slug", "within", "beyond"),
    [
        (
            "ends-scaled-differently",
            sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", range=sketch.span("0-10.01 bar (gauge)")),
            sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", range=sketch.span("0-10.011 bar (gauge)")),
        ),
        (
            "remote-set-point-scaled-differently",
            sketch.cascade(source_range="0-200.2 degC"),
            sketch.cascade(source_range="0-200.21 degC"),
        ),
        (
            "split-range-does-not-meet",
            sketch.split_range_loop(first=("0", "47.5"), second=("52.5", "100")),
            sketch.split_range_loop(first=("0", "47.4"), second=("52.5", "100")),
        ),
        ("voltage-signal-too-far", sketch.voltage_loop(length_m="15"), sketch.voltage_loop(length_m="15.1")),
        ("leakage-holds-load", sketch.triac_loop(load_a="0.010"), sketch.triac_loop(load_a="0.0099")),
        (
            "bus-overloaded",
            sketch.bus_loop(unit_loads=((32, "1"),)),
            sketch.bus_loop(unit_loads=((32, "1"), (1, "0.125"))),
        ),
        ("address-out-of-range", sketch.bus_loop(address=247), sketch.bus_loop(address=248)),
        (
            "standard-not-good-enough",
            sketch.calibrated_loop(standard_uncertainty_percent="0.0625"),
            sketch.calibrated_loop(standard_uncertainty_percent="0.063"),
        ),
        (
            "calibration-overdue",  # due on 10 February 2026, with a grace of 36 days
            sketch.with_surroundings(sketch.calibrated_loop(), today=date(2026, 3, 18)),
            sketch.with_surroundings(sketch.calibrated_loop(), today=date(2026, 3, 19)),
        ),
        (
            "proof-test-overdue",  # due on 10 January 2026, without grace
            sketch.with_surroundings(sketch.trip_loop(), today=date(2026, 1, 10)),
            sketch.with_surroundings(sketch.trip_loop(), today=date(2026, 1, 11)),
        ),
        (
            "alarm-outside-range",
            sketch.with_alarm(sketch.temperature_loop(), "TIC-101", "Alarm 1", set_point=number("199.9")),
            sketch.with_alarm(sketch.temperature_loop(), "TIC-101", "Alarm 1", set_point=number(200)),
        ),
        (
            "set-point-limits-outside-range",
            sketch.with_settings(sketch.temperature_loop(), "TIC-101", set_point_high=number(200)),
            sketch.with_settings(sketch.temperature_loop(), "TIC-101", set_point_high=number("200.1")),
        ),
        (
            "display-cannot-show-range",
            sketch.with_settings(sketch.thermocouple_loop(range_="0-999.9 degC"), "TIC-301", decimals=1),
            sketch.with_settings(sketch.thermocouple_loop(range_="0-1000 degC"), "TIC-301", decimals=1),
        ),
        (
            "front-does-not-fit-cutout",
            sketch.with_tag(sketch.temperature_loop(), "TIC-101", cutout_width_mm=number("92.8")),
            sketch.with_tag(sketch.temperature_loop(), "TIC-101", cutout_width_mm=number("92.9")),
        ),
        (
            "derivative-implausible",
            sketch.with_settings(sketch.temperature_loop(), "TIC-101", integral=number(120), derivative=number(30)),
            sketch.with_settings(sketch.temperature_loop(), "TIC-101", integral=number(120), derivative=number(31)),
        ),
        (
            "cascade-speeds-alike",
            sketch.with_settings(sketch.cascade(), "TIC-102", integral=number(60)),
            sketch.with_settings(sketch.cascade(), "TIC-102", integral=number(61)),
        ),
        (
            "turndown-too-large",
            sketch.with_model(sketch.pressure_loop(range_="0-2.5 bar (gauge)"), "PT-201", minimum_span=None),
            sketch.with_model(sketch.pressure_loop(range_="0-2.4 bar (gauge)"), "PT-201", minimum_span=None),
        ),
        (
            "entity-parameters-exceeded",
            sketch.barrier_loop(ui_v="28"),
            sketch.barrier_loop(ui_v="27.9"),
        ),
        ("contact-overloaded", sketch.relay_heater_loop(load_a="0.5"), sketch.relay_heater_loop(load_a="0.51")),
        (
            "calibrated-range-is-not-working-range",
            sketch.calibrated_loop(calibrated="0-10.01 bar (gauge)"),
            sketch.calibrated_loop(calibrated="0-10.02 bar (gauge)"),
        ),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_on_the_edge_passes_and_past_it_is_flagged(slug, within, beyond):
    assert said(slug, within) == []
    assert said(slug, beyond)


@pytest.mark.parametrize(
    ("slug", "loop", "phrase"),
    [
        (
            "ends-scaled-differently",
            sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", range=None),
            "the range that PT-201 sends it is not recorded",
        ),
        (
            "remote-set-point-scaled-differently",
            sketch.with_port(sketch.cascade(), "TIC-110", "Output 1", range=None),
            "the range that TIC-110 sends it as set point is not recorded",
        ),
        (
            "alarm-outside-range",
            sketch.with_alarm(sketch.temperature_loop(), "TIC-101", "Alarm 1", set_point=None),
            "the set point of Alarm 1 is not recorded",
        ),
        (
            "wrong-extension-cable",
            sketch.with_cable(sketch.thermocouple_loop(), "TIC-301", "Input", designation="", use="instrument"),
            "whether C-3011 is an extension cable of type K is not recorded",
        ),
        (
            "lead-error-too-large",
            sketch.with_cable(sketch.two_wire_pt_loop(signal="pt100"), "TIC-101", "Input", length_m=None),
            "length or cross-section of its cable is not recorded",
        ),
        (
            "too-little-voltage",
            sketch.with_cable(sketch.pressure_loop(), "PIC-201", "Input", length_m=None),
            "it needs 10.5 V, but length or cross-section of a cable in it is not recorded",
        ),
        (
            "sign-round-the-loop",
            replace(sketch.temperature_loop(), on_opening=None),
            "what the measured value does as TV-101 opens is not recorded",
        ),
        (
            "safe-circuit-cable-not-recorded",
            sketch.with_cable(sketch.barrier_loop(), "PY-201", "Field", length_m=None),
            "the length of the cable",
        ),
        (
            "sil-target-missed",
            replace(sketch.trip_loop(), safety=replace(sketch.trip_loop().safety, logic_pfd=None)),
            "how often logic fails on demand is not recorded",
        ),
        (
            "proof-test-overdue",
            replace(sketch.trip_loop(), safety=replace(sketch.trip_loop().safety, last_proof_test=None)),
            "when it was tested last is not recorded",
        ),
        (
            "calibration-overdue",
            sketch.with_tag(sketch.calibrated_loop(), "PT-201", calibration=None),
            "no calibration is recorded",
        ),
        ("trip-energises", sketch.with_alarm(sketch.trip_loop(), "TSHH-601", "Trip", coil=None), "is not recorded"),
        (
            "address-out-of-range",
            sketch.with_settings(
                sketch.bus_loop(),
                "TIC-101",
                serial=replace(sketch.bus_loop().controllers[0].settings.serial, address=None),
            ),
            "its address is not recorded",
        ),
        (
            "two-wire-supply-not-one",
            sketch.with_model(
                sketch.without_link(sketch.pressure_loop(), "PT-201", "Supply"),
                "PIC-201",
                ports=tuple(
                    replace(port, supplies_loop=None) for port in sketch.pressure_loop().controllers[0].model.ports
                ),
            ),
            "whether PIC-201 Input feeds it is not recorded",
        ),
    ],
    ids=lambda value: value if isinstance(value, str) and "-" in value and " " not in value else "",
)
def test_a_rule_that_lacks_a_fact_says_which(slug, loop, phrase):
    assert phrase in " | ".join(unknowns(slug, loop))


def test_the_same_numbers_in_another_unit_are_right_and_in_a_wrong_one_are_flagged():
    """0–6 bar is 0–87.02 psi (NIST SP 811); 0–6 psi it is not."""

    def transmitter(sent):
        return sketch.with_port(
            sketch.pressure_loop(range_="0-6 bar (gauge)"), "PT-201", "Output", range=sketch.span(sent)
        )

    assert said("ends-scaled-differently", transmitter("0-87.02 psig")) == []
    assert said("ends-scaled-differently", transmitter("0-6 psig"))


def test_a_loop_that_is_fed_twice_names_both_supplies():
    loop = sketch.with_port(sketch.pressure_loop(), "PIC-201", "Input", supplies_loop=True)

    assert said("two-wire-supply-not-one", loop) == ["its circuit has 2 supplies: PIC-201 Input, PIC-201 Supply 24 V"]


def test_a_shunt_of_the_right_value_makes_milliamps_volts():
    """20 mA through 250 Ω is 5.000 V (Ohm's law)."""
    volts = sketch.with_port(sketch.pressure_loop(), "PIC-201", "Input", signal="1-5V")
    volts = sketch.with_settings(volts, "PIC-201", input_signal="1-5V")

    assert said("signals-of-different-kind", volts)
    assert said("signals-of-different-kind", sketch.with_link(volts, "PIC-201", "Input", shunt_ohm=number(250))) == []
    assert said("signals-of-different-kind", sketch.with_link(volts, "PIC-201", "Input", shunt_ohm=number(100)))


def test_large_stores_halve_what_is_allowed():
    """Ci 5 nF, Li 0.1 mH, cable 300 m at 150 pF/m: 50 nF against 41.5 nF (IEC 60079-14, from memory)."""
    loop = sketch.barrier_loop(capacitance_pf_per_m="150")
    ex = replace(loop.tag("PT-201").model.ex, li_mh=number("0.1"))

    assert said("entity-parameters-exceeded", loop) == []
    (text,) = said("entity-parameters-exceeded", sketch.with_model(loop, "PT-201", ex=ex))
    assert "make 50 nF, 41.5 nF are allowed" in text


def test_simple_apparatus_needs_no_certificate():
    loop = sketch.with_tag(sketch.temperature_loop(), "TE-101", zone="1", gas_group="IIB")
    assert said("not-certified-for-area", loop)

    ex = replace(sketch.barrier_loop().tag("PT-201").model.ex, protection="", simple_apparatus=True)
    assert said("not-certified-for-area", sketch.with_model(loop, "TE-101", ex=ex)) == []


def test_a_motor_without_an_inductive_rating_counts_at_a_third():
    """2 A resistive is 0.67 A for a coil or motor (common practice, no source)."""
    loop = sketch.relay_heater_loop(load_a="0.7", kind=LoadKind.MOTOR)
    board = loop.controllers[0].asset.board_in("1").model
    bare = replace(board, ports=(replace(board.ports[0], contact_inductive_a=None),))

    assert "is rated 0.67 A" in said("contact-overloaded", sketch.with_boards(loop, "TIC-101", bay_1=bare))[0]


def test_an_overlap_of_low_and_high_alarm_is_out_of_order_and_a_gap_less_than_the_dead_band_too():
    assert said("alarms-out-of-order", sketch.alarm_pair_loop(high="90", high_high="91.9"))
    assert said("alarms-out-of-order", sketch.alarm_pair_loop(high="90", high_high="92")) == []


def test_a_heating_loop_with_its_fault_downscale_is_flagged_at_sensor_and_transmitter():
    loop = sketch.with_tag(sketch.pressure_loop(), "PT-201", fault_direction=FaultDirection.DOWNSCALE)

    assert said("fault-reads-safe", loop) == [
        "the danger is high, but on a fault its reading goes downscale (fault current); it must go upscale"
    ]


@pytest.mark.parametrize(
    ("break_it", "expected"),
    [
        (
            lambda loop: sketch.with_settings(loop, "TIC-101", control=ControlForm.HEAT_COOL),
            {"heat-and-cool-with-one-output"},
        ),
        (lambda loop: sketch.with_boards(loop, "TIC-101", bay_1=None), {"output-without-board"}),
        (lambda loop: sketch.with_tag(loop, "TV-101", fail_position=FailPosition.OPEN), {"fails-to-unsafe-position"}),
        (lambda loop: sketch.with_settings(loop, "TIC-101", input_signal="tc-K"), {"sensor-and-input-differ"}),
        (lambda loop: sketch.with_settings(loop, "TIC-101", decimals=3), {"display-cannot-show-range"}),
        (lambda loop: sketch.with_tag(loop, "TIC-101", supply_v=number(24)), {"supply-voltage-differs"}),
        (lambda loop: sketch.with_alarm(loop, "TIC-101", "Alarm 1", output=""), {"alarm-drives-nothing"}),
        (lambda loop: sketch.without_link(loop, "TIC-101", "Input"), {"port-not-wired"}),
    ],
)  # fmt: skip
def test_one_broken_fact_in_a_right_loop_is_said_by_the_rule_that_it_concerns_and_no_other(break_it, expected):
    assert {verdict.rule for verdict in check(break_it(sketch.temperature_loop()))} == expected


def test_parity_is_compared_with_what_most_stations_have():
    loop = sketch.bus_loop(parity="odd")

    assert said("line-settings-differ", loop) == ["its parity is odd; bus A works with even"]


def test_the_cold_junction_of_type_b_needs_no_compensation():
    loop = sketch.with_settings(sketch.type_b_loop(), "TIC-302", cold_junction=ColdJunction.NONE)

    assert said("cold-junction-missing", loop) == []


def test_a_line_monitored_trip_may_energise():
    loop = sketch.with_alarm(sketch.trip_loop(), "TSHH-601", "Trip", coil=CoilState.ENERGISES, line_monitored=True)

    assert said("trip-energises", loop) == []


def test_a_plants_tolerance_takes_the_place_of_the_rules_own():
    loop = sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", range=sketch.span("0-10.05 bar (gauge)"))

    assert said("ends-scaled-differently", loop)
    assert said("ends-scaled-differently", loop, Decimal("0.5")) == []
