"""A rule that lacks a fact says which, and flags nothing."""

from __future__ import annotations

import inspect
import sys

import pytest
from msgspec.structs import replace

from register.plant import sketch
from register.plant.sketch import number
from register.rules.engine import all_rules
from tests.rules.saying import missing, said

T, P = sketch.temperature_loop, sketch.pressure_loop
B, Z, TRIP = sketch.barrier_loop(), sketch.zoned_loop(), sketch.trip_loop()


def input_facts(loop, tag, **facts):
    """The loop with facts of a model's input changed."""
    ports = tuple(replace(port, **facts) if port.direction == "in" else port for port in loop.tag(tag).model.ports)
    return sketch.with_model(loop, tag, ports=ports)


def certified(loop, tag, **facts):
    return sketch.with_model(loop, tag, ex=replace(loop.tag(tag).model.ex, **facts))


def sender(**facts):
    """The pressure loop with facts of its transmitter's output changed."""
    output, supply = P().tag("PT-201").model.ports
    return sketch.with_model(P(), "PT-201", ports=(replace(output, **facts), supply))


def station(**facts):
    loop = sketch.bus_loop()
    return sketch.with_settings(loop, "TIC-101", serial=replace(loop.tag("TIC-101").settings.serial, **facts))


def thirty_three_stations():
    """Thirty-two stations of one unit load, and one of which nothing is recorded."""
    loop = sketch.bus_loop(unit_loads=((33, "1"),))
    *others, last = loop.surroundings.stations
    return sketch.with_surroundings(loop, stations=(*others, replace(last, unit_load=None)))


def split(**facts):
    return sketch.with_port(
        sketch.split_range_loop(first=("0", "49"), second=("51", "100")), "TV-401B", "Signal", **facts
    )


MISSING = (
    ("accuracy-budget-exceeded", sketch.accuracy_loop(tolerance_class=""), "that of TE-101 is not recorded"),
    ("address-out-of-range", station(address=None), "its address is not recorded"),
    (
        "alarm-outside-range",
        sketch.with_alarm(T(), "TIC-101", "Alarm 1", set_point=None),
        "the set point of Alarm 1 is not recorded",
    ),
    (
        "alarm-without-deadband",
        sketch.with_alarm(T(), "TIC-101", "Alarm 1", deadband=None),
        "the dead band of Alarm 1 is not recorded",
    ),
    ("bus-overloaded", thirty_three_stations(), "make 32 unit loads of 32; the load of 1 more is not recorded"),
    (
        "calibration-overdue",
        sketch.with_tag(sketch.calibrated_loop(), "PT-201", calibration=None),
        "its interval is 12 months, but no calibration is recorded",
    ),
    (
        "contact-overloaded",
        input_facts(sketch.relay_heater_loop(), "TZ-101", load_a=None),
        "Output 1 is rated 2 A; what TZ-101 takes is not recorded",
    ),
    (
        "current-output-overloaded",
        input_facts(T(), "TV-101", resistance_ohm=None),
        "Output 1 drives 600 Ω, but the input resistance of TV-101 Signal is not recorded",
    ),
    (
        "cycle-time-does-not-suit",
        sketch.with_settings(sketch.relay_heater_loop(), "TIC-101", cycle_time_s=None),
        "Output 1 is switched, but its cycle time is not recorded",
    ),
    (
        "digital-messages-swallowed",
        sketch.with_cable(sketch.digital_loop(input_ohm="50"), "PIC-201", "Input", length_m=None),
        "need 230 Ω and 50 Ω are recorded, but length or cross-section of a cable in it is not",
    ),
    (
        "ends-scaled-differently",
        sketch.with_port(P(), "PT-201", "Output", range=None),
        "the range that PT-201 sends it is not recorded",
    ),
    (
        "ends-scaled-differently",
        sketch.with_port(sketch.with_settings(P(), "PIC-201", range=None), "PIC-201", "Input", range=None),
        "the range that it reads is not recorded",
    ),
    (
        "entity-parameters-exceeded",
        certified(B, "PY-201", lo_mh=None),
        "not all entity parameters of PY-201 are recorded",
    ),
    ("entity-parameters-exceeded", certified(B, "PT-201", pi_mw=None), "not all entity parameters of PT-201"),
    (
        "extension-cable-too-hot",
        sketch.with_tag(
            sketch.with_cable(sketch.thermocouple_loop(), "TIC-301", "Input", designation="KCB"),
            "TE-301",
            ambient_c=None,
        ),
        "KCB is made for 0 to 100 °C, but how hot its head becomes is not recorded",
    ),
    (
        "fails-to-unsafe-position",
        sketch.with_tag(TRIP, "TZ-601", safe_position=None),
        "the position that is safe is not recorded",
    ),
    (
        "fails-to-unsafe-position",
        sketch.with_model(T(), "TV-101", fail_position=None),
        "closed is the safe position, but where it fails to is not recorded",
    ),
    (
        "fault-current-not-recognised",
        sketch.with_settings(P(), "PIC-201", fault_above_ma=None),
        "PT-201 fails to 21.5 mA, but from where on the input declares a fault is not recorded",
    ),
    ("fault-reads-safe", replace(TRIP, danger=None), "it trips, but on which side the danger lies is not recorded"),
    (
        "fault-reads-safe",
        sketch.with_settings(TRIP, "TSHH-601", sensor_break=None),
        "it trips, but where it goes on a broken sensor is not recorded",
    ),
    (
        "gas-group-does-not-suit",
        certified(Z, "PT-201", gas_group=""),
        "the gas group that it is certified for is not recorded",
    ),
    (
        "lead-error-too-large",
        sketch.with_cable(sketch.two_wire_pt_loop(signal="pt100"), "TIC-101", "Input", length_m=None),
        "length or cross-section of its cable is not recorded",
    ),
    (
        "low-flow-cutoff-missing",
        sketch.with_settings(sketch.flow_loop(), "FIC-501", low_cutoff_percent=None),
        "its low-flow cut-off is not recorded",
    ),
    (
        "proof-test-overdue",
        replace(TRIP, safety=replace(TRIP.safety, last_proof_test=None, target_sil=None)),
        "it is proof tested, but when it was tested last is not recorded",
    ),
    (
        "proof-test-overdue",
        replace(TRIP, safety=replace(TRIP.safety, last_proof_test=None)),
        "it claims SIL 2, but when it was tested last is not recorded",
    ),
    ("protection-does-not-suit-zone", sketch.zoned_loop(zone="yard"), "“yard” is no zone"),
    (
        "remote-set-point-scaled-differently",
        sketch.with_port(sketch.cascade(), "TIC-110", "Output 1", range=None),
        "the range that TIC-110 sends it as set point is not recorded",
    ),
    (
        "retransmission-scaled-differently",
        sketch.with_port(
            sketch.recorder_loop(sent="0-1200 degC", read="0-1200 degC"), "TR-301", "Channel 1", range=None
        ),
        "the range that it reads is not recorded",
    ),
    (
        "safe-circuit-cable-not-recorded",
        sketch.with_cable(B, "PY-201", "Field", length_m=None),
        "the length of the cable of its intrinsically safe circuit is not recorded",
    ),
    (
        "screen-not-earthed-once",
        sketch.with_cable(T(), "TIC-101", "Input", screen_earthed_at=()),
        "where the screen of C-1011 is earthed is not recorded",
    ),
    (
        "sensor-and-input-differ",
        sketch.with_settings(sketch.with_port(T(), "TIC-101", "Input", signal=""), "TIC-101", input_signal=""),
        "what its input is set to is not recorded",
    ),
    (
        "set-point-limits-outside-range",
        sketch.with_settings(T(), "TIC-101", range=None),
        "it has set-point limits, but its range is not recorded",
    ),
    (
        "sign-round-the-loop",
        replace(T(), on_opening=None),
        "what the measured value does as TV-101 opens is not recorded",
    ),
    (
        "sign-round-the-loop",
        sketch.with_model(sketch.with_settings(T(), "TIC-101", action=None), "TV-101", on_rising_signal=None),
        "whether TV-101 opens or closes as its signal rises, the controller's action is not recorded",
    ),
    (
        "sil-target-missed",
        replace(TRIP, safety=replace(TRIP.safety, logic_pfd=None)),
        "it claims SIL 2, but how often logic fails on demand is not recorded",
    ),
    (
        "split-range-does-not-meet",
        split(split_low_percent=None),
        "which part of Output 1 TV-401B covers is not recorded",
    ),
    (
        "temperature-class-too-weak",
        certified(Z, "PT-201", temperature_class=""),
        "the gas ignites at 425 °C, but the temperature class of what stands here is not recorded",
    ),
    ("too-little-voltage", sender(min_terminal_v=None), "the least voltage that it works at is not recorded"),
    (
        "too-little-voltage",
        sketch.with_cable(P(), "PIC-201", "Input", length_m=None),
        "it needs 10.5 V, but length or cross-section of a cable in it is not recorded",
    ),
    (
        "too-little-voltage",
        sketch.with_boards(
            P(),
            "PIC-201",
            bay_3=replace(
                sketch.transmitter_supply_board(),
                ports=(replace(sketch.transmitter_supply_board().ports[0], supply_v=None),),
            ),
        ),
        "the voltage that PIC-201 Supply 24 V gives is not recorded",
    ),
    (
        "trip-energises",
        sketch.with_alarm(TRIP, "TSHH-601", "Trip", coil=None),
        "what the coil of Trip does on a trip is not recorded",
    ),
    (
        "trip-too-close",
        sketch.with_model(TRIP, "TT-601", accuracy=None),
        "Trip at 246 °C is 4 °C from the safe limit 250 °C; of the errors on the way, that of TT-601 is not recorded",
    ),
    (
        "two-earthed-readers",
        input_facts(input_facts(sketch.series_loop(isolated=True), "PI-201", isolated=None), "PIC-201", isolated=False),
        "2 readers are in series on Output; whether the input of PI-201 floats is not recorded",
    ),
    (
        "two-wire-supply-not-one",
        sketch.without_link(input_facts(P(), "PIC-201", supplies_loop=None), "PT-201", "Supply"),
        "no supply is wired, and whether PIC-201 Input feeds it is not recorded",
    ),
    (
        "voltage-signal-too-far",
        sketch.with_cable(sketch.voltage_loop(length_m="3"), "PIC-201", "Input", length_m=None),
        "0–10 V runs to PIC-201 by a cable whose length is not recorded",
    ),
    (
        "wrong-extension-cable",
        sketch.with_cable(sketch.thermocouple_loop(), "TIC-301", "Input", designation=""),
        "whether C-3011 is an extension cable of type K is not recorded",
    ),
    (
        "wrong-extension-cable",
        sketch.with_cable(sketch.thermocouple_loop(), "TIC-301", "Input", designation="RE-2Y"),
        "C-3011 is recorded as RE-2Y, which is no extension cable of IEC 60584-3",
    ),
)


@pytest.mark.parametrize(("slug", "loop", "words"), MISSING, ids=[f"{one[0]} {nth}" for nth, one in enumerate(MISSING)])
def test_a_rule_that_lacks_a_fact_says_which(slug, loop, words):
    assert words in " | ".join(missing(slug, loop))
    assert said(slug, loop) == []


def test_every_rule_that_can_lack_a_fact_is_tried_without_it():
    lacking = {
        slug
        for slug, rule in all_rules().items()
        if "unknown(" in inspect.getsource(sys.modules[rule.check.__module__])
    }

    assert lacking == {slug for slug, *_ in MISSING}


def test_a_fact_that_cannot_be_calculated_with_is_said_with_its_reason():
    """Nothing has a negative resistance."""
    loop = input_facts(P(), "PIC-201", resistance_ohm=number(-5000))

    assert missing("too-little-voltage", loop) == [
        "a recorded fact cannot be used: series resistance must be 0 or more, not -4997.1."
    ]


@pytest.mark.parametrize("slug", ["calibration-overdue", "proof-test-overdue"])
def test_where_the_day_is_not_known_nothing_is_said_of_dates(slug):
    """An old revision is judged by what stands in it."""
    loop = sketch.with_surroundings(all_rules()[slug].wrong, today=None)

    assert list(all_rules()[slug].findings(loop)) == []


def test_a_loop_of_which_little_is_recorded_does_not_drown_in_questions():
    """A tag, a range and a link, as a list of instruments gives them."""
    bare = P()
    for tag in ("PT-201", "PIC-201", "PV-201"):
        bare = sketch.with_tag(
            bare, tag, asset=None, specified=None, fault_direction=None, safe_position=None, place="", location=None
        )
    bare = sketch.with_tag(bare, "PIC-201", settings=None, alarms=())
    bare = replace(
        bare,
        on_opening=None,
        danger=None,
        links=tuple(replace(link, cores=()) for link in bare.links if link.target_port != "Supply"),
    )
    questions = [found.text for rule in all_rules().values() for found in rule.findings(bare) if found.unknown]

    assert questions == []
