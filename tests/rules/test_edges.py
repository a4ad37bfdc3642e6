"""What lies on the edge of a tolerance passes, what lies past it is flagged."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from msgspec.structs import replace

from register.plant import sketch
from register.plant.sketch import number, span
from register.plant.words import LoadKind, ProportionalAs
from register.rules.engine import all_rules
from tests.rules.saying import said
from tests.rules.worked_examples import burdened, driven, stored

T, P = sketch.temperature_loop, sketch.pressure_loop


def sent(range_: str):
    return sketch.with_port(P(), "PT-201", "Output", range=span(range_))


def volts_across(ohm: str):
    """4–20 mA on an input of 1–5 V, through a resistor."""
    loop = sketch.with_port(P(), "PIC-201", "Input", signal="1-5V")
    loop = sketch.with_settings(loop, "PIC-201", input_signal="1-5V")
    return sketch.with_link(loop, "PIC-201", "Input", shunt_ohm=number(ohm))


def leads_of(metres: str):
    """A Pt100 of class B on two wires of 0.5 mm²: half of 0.8 °C at 100 °C is 0.4 °C."""
    return sketch.with_cable(sketch.two_wire_pt_loop(signal="pt100"), "TIC-101", "Input", length_m=number(metres))


def left_with(gain: str):
    """A proportional band of 50 % is a gain of 2; 5 % of that is 0.1."""
    loop = sketch.with_model(T(), "TIC-101", proportional_as=ProportionalAs.GAIN)
    loop = sketch.with_settings(loop, "TIC-101", proportional=number(50))
    left = replace(loop.tag("TIC-101").settings, proportional=number(gain), proportional_as=ProportionalAs.GAIN)
    return sketch.with_tag(loop, "TIC-101", as_left=left)


def supplying(milliamps: str):
    """One circuit that fails to 21.5 mA."""
    board = sketch.transmitter_supply_board()
    board = replace(board, ports=(replace(board.ports[0], supply_max_ma=number(milliamps)),))
    return sketch.with_boards(P(), "PIC-201", bay_3=board)


def setting(name: str, loop=None, tag: str = "TIC-101"):
    """The loop with one setting of a controller."""
    return lambda value: sketch.with_settings(loop or T(), tag, **{name: number(value)})


EDGES = (
    ("ends-scaled-differently", sent, "0-10.01 bar (gauge)", "0-10.011 bar (gauge)"),
    (
        "remote-set-point-scaled-differently",
        lambda of: sketch.cascade(source_range=of),
        "0-200.2 degC",
        "0-200.21 degC",
    ),
    (
        "retransmission-scaled-differently",
        lambda of: sketch.recorder_loop(sent=of, read="0-1000 degC"),
        "0-1001 degC",
        "0-1001.1 degC",
    ),
    ("signals-of-different-kind", volts_across, "250.2", "250.3"),  # 0.1 % of 4 V at 20 mA is 0.2 Ω
    # 36.0 Ω/km there and back: 2.1 m make 0.151 Ω, 2.2 m 0.158 Ω; 0.379 Ω per °C at 100 °C
    ("lead-error-too-large", leads_of, "2.1", "2.2"),
    (
        "split-range-does-not-meet",
        lambda ends: sketch.split_range_loop(first=("0", ends), second=("52.5", "100")),
        "47.5",
        "47.4",
    ),
    (
        "split-range-does-not-meet",
        lambda ends: sketch.split_range_loop(first=("0", ends), second=("49.5", "100")),
        "50.5",
        "50.6",
    ),
    ("voltage-signal-too-far", lambda metres: sketch.voltage_loop(length_m=metres), "15", "15.1"),
    ("leakage-holds-load", lambda amps: sketch.triac_loop(load_a=amps), "0.010", "0.0099"),
    (
        "bus-overloaded",
        lambda loads: sketch.bus_loop(unit_loads=loads),
        ((32, "1"),),
        ((32, "1"), (1, "0.125")),
    ),
    ("address-out-of-range", lambda address: sketch.bus_loop(address=address), 247, 248),
    ("address-out-of-range", lambda address: sketch.bus_loop(address=address), 1, 0),
    (
        "standard-not-good-enough",
        lambda percent: sketch.calibrated_loop(standard_uncertainty_percent=percent),
        "0.0625",
        "0.063",
    ),
    ("calibration-incomplete", lambda error: sketch.calibrated_loop(worst_error_percent=error), "-0.25", "-0.26"),
    ("calibration-incomplete", lambda points: sketch.calibrated_loop(points=points), 5, 4),
    # due on 10 February 2026, with a grace of 36 of 365 days
    (
        "calibration-overdue",
        lambda day: sketch.with_surroundings(sketch.calibrated_loop(), today=day),
        date(2026, 3, 18),
        date(2026, 3, 19),
    ),
    # due on 10 January 2026, without grace
    (
        "proof-test-overdue",
        lambda day: sketch.with_surroundings(sketch.trip_loop(), today=day),
        date(2026, 1, 10),
        date(2026, 1, 11),
    ),
    (
        "alarm-outside-range",
        lambda at: sketch.with_alarm(T(), "TIC-101", "Alarm 1", set_point=number(at)),
        "199.9",
        "200",
    ),
    ("alarms-out-of-order", lambda at: sketch.alarm_pair_loop(high="90", high_high=at), "92", "91.9"),
    ("set-point-limits-outside-range", setting("set_point_high"), "200", "200.1"),
    ("remote-set-point-beyond-limits", setting("set_point_high", sketch.cascade(), "TIC-102"), "200", "199.9"),
    (
        "display-cannot-show-range",
        lambda of: sketch.with_settings(sketch.thermocouple_loop(range_=of), "TIC-301", decimals=1),
        "0-999.9 degC",
        "0-1000 degC",
    ),
    (
        "display-too-coarse",
        lambda of: sketch.with_settings(T(range_=of), "TIC-101", decimals=0),
        "0-100 degC",
        "0-99 degC",
    ),
    (
        "front-does-not-fit-cutout",
        lambda width: sketch.with_tag(T(), "TIC-101", cutout_width_mm=number(width)),
        "92.8",
        "92.9",
    ),
    (
        "derivative-implausible",
        lambda seconds: sketch.with_settings(T(), "TIC-101", integral=number(120), derivative=number(seconds)),
        "30",
        "30.1",
    ),
    ("derivative-implausible", lambda seconds: replace(T(), dead_time_s=number(seconds)), "180", "181"),
    ("cascade-speeds-alike", setting("integral", sketch.cascade(), "TIC-102"), "60", "60.1"),
    (
        "turndown-too-large",
        lambda of: sketch.with_model(P(range_=of), "PT-201", minimum_span=None),
        "0-2.5 bar (gauge)",
        "0-2.4 bar (gauge)",
    ),
    # the data sheet's own least span is 0.5 bar
    ("turndown-too-large", lambda of: P(range_=of), "0-0.5 bar (gauge)", "0-0.4 bar (gauge)"),
    ("range-beyond-transmitter", lambda of: P(range_=of), "0-25 bar (gauge)", "0-25.1 bar (gauge)"),
    ("range-beyond-sensor", lambda of: T(range_=of), "-50-400 degC", "-50-401 degC"),
    (
        "range-beyond-input",
        lambda limits: sketch.with_input_limits(T(), "TIC-101", "pt100", limits),
        "0-200 degC",
        "0.1-200 degC",
    ),
    (
        "class-claimed-outside-its-range",
        lambda of: sketch.with_model(T(range_=of), "TE-101", construction="film"),
        "-30-300 degC",
        "-30-301 degC",
    ),
    (
        "extension-cable-too-hot",
        lambda head: sketch.with_tag(sketch.thermocouple_loop(), "TE-301", ambient_c=number(head)),
        "200",
        "201",
    ),
    ("low-flow-cutoff-missing", setting("low_cutoff_percent", sketch.flow_loop(), "FIC-501"), "3", "2.9"),
    ("low-flow-cutoff-missing", setting("low_cutoff_percent", sketch.flow_loop(), "FIC-501"), "10", "10.1"),
    ("fault-current-not-recognised", setting("fault_above_ma", P(), "PIC-201"), "21.5", "21.6"),
    ("fault-current-not-recognised", setting("fault_below_ma", P(), "PIC-201"), "3.7", "3.8"),
    ("type-b-at-low-temperature", setting("set_point", sketch.type_b_loop(), "TIC-302"), "250", "249"),
    # √(0.55² + 0.4²) = 0.6801
    ("accuracy-budget-exceeded", lambda needed: sketch.accuracy_loop(required=needed), "0.681", "0.680"),
    ("sensor-uses-up-accuracy", lambda needed: sketch.accuracy_loop(required=needed), "0.55", "0.549"),
    # √(1.2² + 0.9²) = 1.5 below 250
    ("trip-too-close", lambda at: sketch.trip_loop(trip_at=at), "248.5", "248.6"),
    # 0.002 + λ × 4380 < 0.01
    ("sil-target-missed", lambda rate: sketch.trip_loop(final_failures=rate), "1.82e-6", "1.83e-6"),
    ("entity-parameters-exceeded", lambda volts: sketch.barrier_loop(ui_v=volts), "28", "27.9"),
    # 83 − 5 nF over 300 m
    ("entity-parameters-exceeded", lambda pf: stored(capacitance=pf, li_mh="0.01"), "260", "261"),
    # 78 nF at 200 pF/m
    (
        "safe-circuit-cable-not-recorded",
        lambda metres: sketch.barrier_loop(length_m=metres, capacitance_pf_per_m=None),
        "390",
        "391",
    ),
    (
        "temperature-class-too-weak",
        lambda ignites: sketch.zoned_loop(temperature_class="T3", ignition_c=ignites),
        "201",
        "200",
    ),
    ("contact-overloaded", lambda amps: sketch.relay_heater_loop(load_a=amps), "0.5", "0.51"),
    (
        "contact-overloaded",
        lambda amps: sketch.relay_heater_loop(load_a=amps, kind=LoadKind.RESISTIVE),
        "2",
        "2.1",
    ),
    ("logic-drive-does-not-suit", lambda amps: sketch.ssr_loop(load_a=number(amps)), "0.020", "0.021"),
    ("logic-drive-does-not-suit", lambda volts: sketch.ssr_loop(load_v_min=number(volts)), "12", "12.1"),
    ("cycle-time-does-not-suit", setting("cycle_time_s", sketch.relay_heater_loop()), "15", "14.9"),
    ("cycle-time-does-not-suit", setting("cycle_time_s", sketch.ssr_loop()), "5", "5.1"),
    ("current-output-overloaded", lambda ohm: driven(positioner_ohm=ohm), "576", "577"),  # and 24 Ω of cable
    # through 8.712 Ω of cable
    ("digital-messages-swallowed", lambda ohm: sketch.digital_loop(input_ohm=ohm), "221.29", "221.28"),
    # 24 V − 21.5 mA × 500 Ω = 13.25 V
    ("too-little-voltage", lambda volts: burdened(input_ohm="500", needs_v=volts), "13.25", "13.26"),
    ("supply-overloaded", supplying, "21.5", "21.4"),
    (
        "supply-voltage-differs",
        lambda volts: sketch.with_tag(T(), "TIC-101", supply_v=number(volts)),
        "240",
        "241",
    ),
    (
        "ambient-beyond-rating",
        lambda celsius: sketch.with_tag(T(), "TIC-101", ambient_c=number(celsius)),
        "55",
        "55.1",
    ),
    (
        "calibrated-range-is-not-working-range",
        lambda of: sketch.calibrated_loop(calibrated=of),
        "0-10.01 bar (gauge)",
        "0-10.02 bar (gauge)",
    ),
    ("tuning-of-another-form", left_with, "2.1", "2.11"),
    ("cable-too-small", lambda cores: sketch.with_cable(T(), "TIC-101", "Input", cores=cores), 3, 2),
    ("bus-not-terminated-at-its-ends", lambda count: sketch.bus_loop(terminated=count), 2, 3),
)


@pytest.mark.parametrize(("slug", "make", "within", "past"), EDGES, ids=[f"{one[0]} {one[3]}" for one in EDGES])
def test_on_the_edge_passes_and_past_it_is_flagged(slug, make, within, past):
    assert list(all_rules()[slug].findings(make(within))) == []
    assert said(slug, make(past))


def test_every_rule_with_a_tolerance_is_tried_on_both_sides_of_it():
    assert {slug for slug, rule in all_rules().items() if rule.tolerance} <= {slug for slug, *_ in EDGES}


@pytest.mark.parametrize(
    ("slug", "loop", "wider"),
    [
        ("ends-scaled-differently", sent("0-10.05 bar (gauge)"), "0.5"),
        ("voltage-signal-too-far", sketch.voltage_loop(length_m="20"), "25"),
        ("calibration-overdue", sketch.with_surroundings(sketch.calibrated_loop(), today=date(2026, 4, 1)), "20"),
        ("bus-overloaded", sketch.bus_loop(unit_loads=((33, "1"),)), "64"),
    ],
)
def test_a_plants_own_tolerance_takes_the_place_of_the_rules(slug, loop, wider):
    assert said(slug, loop)
    assert said(slug, loop, Decimal(wider)) == []
