"""What is unusual and right is left alone; what looks like it and is wrong is not."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from register.plant import sketch
from register.plant.sketch import number, span
from register.plant.values import CableFill, Link, TerminalUse
from register.plant.words import (
    Action,
    AlarmKind,
    AssetState,
    CoilState,
    ColdJunction,
    ControlForm,
    FailPosition,
    FaultDirection,
    LoadKind,
    OnOpening,
    OnRisingSignal,
    PidForm,
    ProportionalAs,
    Purpose,
    SetPointSource,
    TimeUnit,
)
from register.rules.engine import all_rules, check
from tests.rules.saying import said
from tests.rules.worked_examples import barriered, burdened

T, P = sketch.temperature_loop, sketch.pressure_loop
TRIP = sketch.trip_loop()


def findings(slug, loop):
    return list(all_rules()[slug].findings(loop))


def ranged(sent: str, read: str):
    """A transmitter and a controller of these ranges."""
    loop = sketch.with_port(P(), "PT-201", "Output", range=span(sent))
    loop = sketch.with_port(loop, "PIC-201", "Input", range=span(read))
    return sketch.with_settings(
        loop, "PIC-201", range=span(read), set_point=None, set_point_low=None, set_point_high=None
    )


# Ends of a signal


@pytest.mark.parametrize(
    ("sent", "read"),
    [
        ("0-10 bar (gauge)", "0-1000 kPa (gauge)"),
        ("0-250 mbar (gauge)", "0-2.5 m"),
        ("0-250 mbar (differential)", "0-100 %"),
        ("0-250 mbar (differential)", "0-120 m3/h"),
        ("0-250 mbar (differential)", "0-250 mbar (gauge)"),
        ("0-2.5 m", "0-40 m3"),
        ("0-10 bar (gauge)", "0-10 bar"),
    ],
)
def test_a_quantity_may_be_told_from_another_that_goes_with_it(sent, read):
    assert findings("ends-of-different-dimension", ranged(sent, read)) == []


@pytest.mark.parametrize(
    ("sent", "read"),
    [
        ("0-10 bar (gauge)", "0-10 bar (absolute)"),
        ("0-200 degC", "0-10 bar (gauge)"),
        ("0-100 Nm3/h", "0-100 Sm3/h"),
        ("0-2.5 m", "0-120 m3/h"),
    ],
)
def test_a_quantity_is_not_told_from_one_that_does_not_go_with_it(sent, read):
    assert said("ends-of-different-dimension", ranged(sent, read)) != []


def test_an_isolator_that_states_no_range_passes_on_what_enters_it():
    loop = sketch.barrier_loop()
    through = sketch.with_port(sketch.with_port(loop, "PY-201", "Field", range=None), "PY-201", "Safe", range=None)

    assert findings("ends-scaled-differently", through) == []
    wrong = sketch.with_port(through, "PT-201", "Output", range=span("0-8 bar (gauge)"))
    assert said("ends-scaled-differently", wrong) == [
        "PY-201 sends 0–8 bar (gauge), PIC-201 reads 0–10 bar (gauge): at a true 8 bar (gauge) it shows "
        "10 bar (gauge), 20 % of span out"
    ]


def test_a_root_in_an_extractor_on_the_way_counts():
    loop = sketch.flow_loop(root_in_transmitter=False, root_in_controller=False)
    extractor = barriered(loop, "0", "FIC-501", "Input")
    extractor = sketch.with_model(extractor, "PY-9", series_resistance_ohm=None, isolates=True)

    assert said("root-not-extracted-once", extractor) != []
    assert findings("root-not-extracted-once", sketch.with_port(extractor, "PY-9", "Out", square_root=True)) == []


def test_what_the_settings_say_counts_before_what_the_port_says():
    loop = sketch.with_settings(P(), "PIC-201", input_signal="0-20mA")

    assert len(said("live-zero-differs", loop)) == 1


def test_a_four_wire_element_may_be_used_on_three():
    loop = sketch.with_model(T(), "TE-101", wires=4)

    assert findings("wires-at-sensor-and-input-differ", loop) == []
    assert said("wires-at-sensor-and-input-differ", sketch.with_settings(loop, "TIC-101", input_wires=2)) != []


def test_a_cable_with_too_few_cores_for_the_element_is_named():
    link = T().links[0]
    loop = sketch.with_link(T(), "TIC-101", "Input", cores=link.cores[:2])

    assert said("wires-at-sensor-and-input-differ", loop) == ["it needs 3 wires, C-1011 carries 2 of them"]


def test_copper_is_right_behind_a_reference_junction_of_its_own():
    loop = sketch.with_cable(sketch.thermocouple_loop(), "TIC-301", "Input", designation="copper")

    assert said("wrong-extension-cable", loop) != []
    loop = sketch.with_settings(loop, "TIC-301", cold_junction=ColdJunction.EXTERNAL)
    assert findings("wrong-extension-cable", loop) == []


def test_type_b_needs_no_compensation_and_may_be_ranged_from_cold():
    loop = sketch.with_settings(sketch.type_b_loop(), "TIC-302", cold_junction=ColdJunction.NONE)
    loop = sketch.with_model(loop, "TE-302", tolerance_class="2", range_limits=None)

    assert findings("cold-junction-missing", loop) == []
    assert findings("class-claimed-outside-its-range", loop) == []
    assert findings("range-beyond-sensor", loop) == []


def test_a_held_reading_is_right_with_an_alarm_on_the_break():
    loop = sketch.with_settings(T(), "TIC-101", sensor_break=FaultDirection.HOLD)
    assert said("fault-reads-safe", loop) == [
        "the danger is high, but on a fault its reading is held (sensor-break action); it must go upscale"
    ]

    alarms = (
        *loop.tag("TIC-101").alarms,
        replace(loop.tag("TIC-101").alarms[0], name="Break", kind=AlarmKind.SENSOR_BREAK),
    )
    assert findings("fault-reads-safe", sketch.with_tag(loop, "TIC-101", alarms=alarms)) == []


def test_a_transmitter_that_fails_low_needs_no_high_limit_at_its_reader():
    loop = sketch.with_tag(P(), "PT-201", fault_direction=FaultDirection.DOWNSCALE)

    assert findings("fault-current-not-recognised", sketch.with_settings(loop, "PIC-201", fault_above_ma=None)) == []


def test_a_display_may_be_coarser_than_its_span_asks_where_the_loop_asks_for_less():
    loop = replace(sketch.with_settings(T(range_="0-150 degC"), "TIC-101", decimals=0), required_accuracy=number(2))

    assert findings("display-too-coarse", loop) == []


# Circuits and cables


def test_a_transmitter_that_fails_low_draws_20_5_ma_at_most():
    """24 V − 20.5 mA × 600 Ω = 11.7 V; at 21.5 mA it would be 11.1 V (Ohm's law, NAMUR NE 43)."""
    loop = burdened(input_ohm="600", needs_v="11.5")

    assert said("too-little-voltage", loop) != []
    assert (
        findings("too-little-voltage", sketch.with_tag(loop, "PT-201", fault_direction=FaultDirection.DOWNSCALE)) == []
    )


def test_a_supply_above_what_the_transmitter_stands_is_flagged():
    sender, supply = P().tag("PT-201").model.ports
    loop = sketch.with_model(P(), "PT-201", ports=(replace(sender, max_terminal_v=number(20)), supply))

    assert said("too-little-voltage", loop) == ["PIC-201 Supply 24 V gives 24 V; it stands 20 V"]


def test_a_supply_behind_a_barrier_is_found_and_the_barrier_counted_once():
    """24 V − 21.5 mA × (300 + 250) Ω = 12.18 V."""
    loop = barriered(burdened(input_ohm="250", needs_v="12.2"), "300", "PIC-201", "Input")

    assert findings("two-wire-supply-not-one", loop) == []
    assert "through 550 Ω at 21.5 mA 12.18 V are left, 12.2 V needed" in said("too-little-voltage", loop)[0]


def test_several_may_take_from_one_supply_terminal_and_readers_in_series_share_theirs():
    def use(link, loop):
        return TerminalUse(cable="C-1", core="1", place="Panel P1", terminal="7", link=link, loop=loop)

    loop = sketch.with_surroundings(P(), terminals=(use("PIC-201 → PT-201", "P-201"), use("PT-201 → PIC-201", "P-201")))
    assert findings("terminal-used-twice", loop) == []
    shared = (use("PIC-201 → PT-201", "P-201"), use("PIC-201 → PT-202", "P-202"))
    assert findings("terminal-used-twice", sketch.with_surroundings(P(), terminals=shared)) == []
    strangers = (use("PT-201 → PIC-201", "P-201"), use("PT-202 → PIC-202", "P-202"))
    assert len(said("terminal-used-twice", sketch.with_surroundings(P(), terminals=strangers))) == 1


def test_screens_meet_on_the_earth_terminal():
    link = T().links[1]
    screen = replace(link.cores[0], core="screen", polarity="screen", to_terminal="PE")
    loop = sketch.with_link(T(), link.target_tag, link.target_port, cores=(*link.cores, screen))
    uses = tuple(
        TerminalUse(cable="C-1012", core="screen", place="TV-101", terminal="PE", link=of, loop=number_)
        for of, number_ in (("TIC-101 → TV-101", "T-101"), ("TIC-102 → TV-102", "T-102"))
    )

    assert findings("terminal-used-twice", sketch.with_surroundings(loop, terminals=uses)) == []


def test_readers_in_series_share_the_cores_of_their_transmitter():
    loop = sketch.series_loop(isolated=True)
    field = next(link for link in loop.links if link.target_tag == "PIC-201")
    loop = sketch.with_link(loop, "PI-201", "Input", cores=field.cores)
    loop = sketch.with_surroundings(
        loop, cables=(CableFill(cable=field.cables[0].name, cores_used=2, cores_claimed=4),)
    )

    assert findings("core-used-twice", loop) == []
    assert findings("cable-too-small", loop) == []


def test_a_power_cable_needs_no_earthed_screen():
    loop = sketch.with_cable(T(), "TV-101", "Signal", use="power", screen_earthed_at=("panel", "field"))

    assert findings("screen-not-earthed-once", loop) == []


def test_contacts_of_low_voltage_may_share_a_cable_with_signals_and_of_mains_may_not():
    def beside(volts):
        loop = sketch.relay_heater_loop()
        (port,) = loop.tag("TZ-101").model.ports
        loop = sketch.with_model(loop, "TZ-101", ports=(replace(port, load_v_min=number(volts)),))
        shared = loop.links[0].cores[0].cable
        cores = tuple(replace(core, cable=shared, core=f"9{core.core}") for core in loop.links[1].cores)
        return sketch.with_link(loop, "TZ-101", "Drive", cores=cores)

    assert findings("signals-and-power-in-one-cable", beside("20")) == []
    assert said("signals-and-power-in-one-cable", beside("207")) == ["C-1011 carries Pt100 beside 207 V to TZ-101"]


def test_a_single_supply_figure_has_its_band():
    """24 V −15 and +10 %: 20.4 to 26.4 V (common practice, no source)."""
    loop = sketch.with_model(T(), "TIC-101", supply_kind=None, supply_low_v=number(24), supply_high_v=number(24))

    for volts, flagged in (("20.4", False), ("20.3", True), ("26.4", False), ("26.5", True)):
        assert bool(said("supply-voltage-differs", sketch.with_tag(loop, "TIC-101", supply_v=number(volts)))) is flagged


def test_the_right_voltage_of_the_wrong_kind_is_flagged():
    loop = sketch.with_model(T(), "TIC-101", supply_kind="d.c.")

    assert said("supply-voltage-differs", loop) == [
        "230 V a.c. is at the place; Fennel Row Regent 96 takes 100 to 240 V d.c."
    ]


# Outputs, alarms and boards


def test_warnings_may_share_a_relay_that_does_the_same_for_each():
    first = T().tag("TIC-101").alarms[0]
    second = replace(first, name="Alarm 2", kind=AlarmKind.LOW, set_point=number(20))

    assert findings("output-used-twice", sketch.with_tag(T(), "TIC-101", alarms=(first, second))) == []
    turned = replace(second, coil=CoilState.ENERGISES)
    assert said("output-used-twice", sketch.with_tag(T(), "TIC-101", alarms=(first, turned))) == [
        "Relay 2 energises for one and lets go for another of Alarm 1 and Alarm 2"
    ]
    trips = replace(second, trip=True)
    assert said("output-used-twice", sketch.with_tag(T(), "TIC-101", alarms=(first, trips))) == [
        "Relay 2 trips, and Alarm 1 and Alarm 2 drive it alike"
    ]
    controls = replace(first, output="Output 1")
    assert said("output-used-twice", sketch.with_tag(T(), "TIC-101", alarms=(controls,))) == [
        "Output 1 controls, and Alarm 1 drives it too"
    ]


@pytest.mark.parametrize(
    ("process", "valve", "action"),
    [
        (OnOpening.RISES, OnRisingSignal.OPENS, Action.REVERSE),
        (OnOpening.RISES, OnRisingSignal.CLOSES, Action.DIRECT),
        (OnOpening.FALLS, OnRisingSignal.OPENS, Action.DIRECT),
        (OnOpening.FALLS, OnRisingSignal.CLOSES, Action.REVERSE),
    ],
)
def test_the_sign_round_the_loop_for_every_valve_and_process(process, valve, action):
    """The product of the signs is −1 (common practice, no source)."""
    loop = replace(sketch.with_tag(T(), "TV-101", on_rising_signal=valve), on_opening=process)
    wrong = Action.DIRECT if action == Action.REVERSE else Action.REVERSE

    assert findings("sign-round-the-loop", sketch.with_settings(loop, "TIC-101", action=action)) == []
    assert said("sign-round-the-loop", sketch.with_settings(loop, "TIC-101", action=wrong)) != []
    turned = sketch.with_port(loop, "TIC-101", "Output 1", reversed=True)
    assert findings("sign-round-the-loop", sketch.with_settings(turned, "TIC-101", action=wrong)) == []


def test_a_converter_on_the_way_to_the_valve_may_turn_the_signal():
    loop = sketch.pneumatic_loop("0.2-1bar", "0.2-1bar")

    assert findings("sign-round-the-loop", loop) == []
    assert said("sign-round-the-loop", sketch.with_port(loop, "TY-101", "Air", reversed=True)) != []


def test_a_cooling_element_opens_as_more_cooling_is_asked_for():
    loop = sketch.with_tag(sketch.heat_cool_loop(), "TV-401B", on_rising_signal=OnRisingSignal.CLOSES)

    assert said("sign-round-the-loop", loop) == [
        "Output 3 rises as more cooling is asked for, and TV-401B closes as it rises"
    ]
    turned = sketch.with_port(loop, "TIC-401", "Output 3", reversed=True)
    assert findings("sign-round-the-loop", turned) == []


def test_a_final_element_may_stay_where_it_is_if_that_is_safe():
    stays = sketch.with_tag(T(), "TV-101", fail_position=FailPosition.STAYS, safe_position=FailPosition.STAYS)

    assert findings("fails-to-unsafe-position", stays) == []
    closed = sketch.with_tag(stays, "TV-101", safe_position=FailPosition.CLOSED)
    assert said("fails-to-unsafe-position", closed) == [
        "it stays where it is when it fails; the safe position is closed"
    ]


def test_valves_in_parallel_on_one_output_are_no_split_range():
    assert findings("split-range-does-not-meet", sketch.two_positioner_loop(resistance_ohm="200")) == []


def test_a_coil_without_an_inductive_rating_counts_at_a_third():
    """2 A resistive is 0.67 A for a motor (common practice, no source)."""
    loop = sketch.relay_heater_loop(load_a="0.7", kind=LoadKind.MOTOR)
    board = sketch.relay_board()
    bare = replace(board, ports=(replace(board.ports[0], contact_inductive_a=None),))

    assert "is rated 0.67 A" in said("contact-overloaded", sketch.with_boards(loop, "TIC-101", bay_1=bare))[0]


def test_a_load_at_more_volts_than_the_contact_is_rated_for_is_flagged():
    board = sketch.relay_board()
    low = replace(board, ports=(replace(board.ports[0], contact_v=number(30)),))

    assert said("contact-overloaded", sketch.with_boards(sketch.relay_heater_loop(), "TIC-101", bay_1=low)) == [
        "Output 1 is rated 30 V; TZ-101 is switched at 207 V"
    ]


def test_on_off_control_needs_no_cycle_time():
    loop = sketch.with_settings(
        sketch.relay_heater_loop(), "TIC-101", control=ControlForm.ON_OFF, cycle_time_s=number(2)
    )

    assert findings("cycle-time-does-not-suit", loop) == []


def test_a_controller_that_cannot_heat_and_cool_is_flagged_whatever_its_outputs():
    loop = sketch.with_model(sketch.heat_cool_loop(), "TIC-401", heat_cool=False)

    assert said("heat-and-cool-with-one-output", loop) == [
        "it is set to heat and cool, which Fennel Row Regent 96 cannot"
    ]


def test_an_alarm_that_latches_needs_no_dead_band():
    loop = sketch.with_alarm(T(), "TIC-101", "Alarm 1", deadband=None, latching=True)

    assert findings("alarm-without-deadband", loop) == []


def test_an_alarm_on_an_output_that_the_tag_has_not_is_flagged():
    loop = sketch.with_alarm(T(), "TIC-101", "Alarm 1", output="Relay 9")

    assert said("alarm-drives-nothing", loop) == ["Alarm 1 (high) drives Relay 9, which the tag has not"]


def test_a_deviation_alarm_is_reached_within_the_span():
    loop = sketch.with_alarm(T(), "TIC-101", "Alarm 1", kind=AlarmKind.DEVIATION_BAND, set_point=number(5))

    assert findings("alarm-outside-range", loop) == []
    assert said("alarm-outside-range", sketch.with_alarm(loop, "TIC-101", "Alarm 1", set_point=number(200))) != []


# Set points and tuning


def test_a_set_point_outside_its_limits_or_limits_out_of_order_are_flagged():
    assert said("set-point-limits-outside-range", sketch.with_settings(T(), "TIC-101", set_point=number(190))) == [
        "the set point 190 °C lies outside its limits 0 °C to 180 °C"
    ]
    turned = sketch.with_settings(T(), "TIC-101", set_point_low=number(150), set_point_high=number(50), set_point=None)
    assert said("set-point-limits-outside-range", turned) == [
        "the lower set-point limit 150 °C is not below the upper 50 °C"
    ]


def test_a_ratio_and_a_bias_that_make_both_ends_agree_are_right():
    """Half of 0–400 °C and 50 °C is 50–250 °C."""
    loop = sketch.cascade(source_range="50-250 degC", target_range="0-400 degC")
    loop = sketch.with_settings(loop, "TIC-102", remote_ratio=number("0.5"), remote_bias=number(50))

    assert findings("remote-set-point-scaled-differently", loop) == []
    assert findings("remote-set-point-beyond-limits", loop) == []
    tight = sketch.with_settings(loop, "TIC-102", set_point_high=number(240))
    assert said("remote-set-point-beyond-limits", tight) != []


def test_a_follower_that_was_left_in_local_is_flagged_whatever_it_is_set_to():
    loop = sketch.cascade()
    left = replace(loop.tag("TIC-102").settings, working_in_local=True)

    assert said("secondary-left-in-local", sketch.with_tag(loop, "TIC-102", as_left=left)) == [
        "TIC-110 sends it a set point, but it was left working in local"
    ]
    local = sketch.with_settings(loop, "TIC-102", set_point_source=SetPointSource.LOCAL)
    assert said("secondary-left-in-local", local) == [
        "TIC-110 sends it a set point, but it is set to a local set point"
    ]


def test_series_and_ideal_agree_without_derivative():
    loop = sketch.with_settings(T(), "TIC-101", pid_form=PidForm.SERIES, derivative=number(0))

    assert findings("tuning-of-another-form", loop) == []


def test_times_in_another_unit_are_named_as_the_controller_takes_them():
    loop = sketch.with_model(T(), "TIC-101", time_unit=TimeUnit.MINUTES, proportional_as=ProportionalAs.GAIN)

    assert said("tuning-of-another-form", loop) == [
        "its tuning is given as proportional band %, s, ideal; Fennel Row Regent 96 takes gain, min, ideal: it needs "
        "gain 8.333, integral 3 min, derivative 0.5 min"
    ]


# Hazardous areas, safety and records


def test_the_certificate_of_the_barrier_must_suit_the_device_s_area_too():
    loop = sketch.zoned_loop(zone="0", protection="ia")
    weak = sketch.with_model(loop, "PY-201", ex=replace(loop.tag("PY-201").model.ex, protection="[Ex ib]"))

    assert findings("protection-does-not-suit-zone", loop) == []
    assert said("protection-does-not-suit-zone", weak) == [
        "it stands in zone 0, and PY-201 feeds it by [Ex ib]; the zone allows ia, ma"
    ]


def test_simple_apparatus_takes_what_its_circuit_gives():
    loop = sketch.barrier_loop()
    ex = replace(loop.tag("PT-201").model.ex, simple_apparatus=True, ui_v=None, ii_ma=None, pi_mw=None, ci_nf=None)

    assert findings("entity-parameters-exceeded", sketch.with_model(loop, "PT-201", ex=ex)) == []


def test_what_only_air_moves_needs_no_certificate():
    loop = sketch.with_tag(sketch.pneumatic_loop("3-15psi", "3-15psi"), "TV-101", zone="1")

    assert findings("not-certified-for-area", loop) == []
    assert said("not-certified-for-area", sketch.with_tag(loop, "TY-101", zone="1")) != []


def test_a_trip_may_use_the_second_element_of_a_sheath_and_not_the_first():
    loop = replace(
        TRIP,
        tags=(*TRIP.tags, sketch.temperature_loop("601").tag("TIC-601")),
        links=(
            *TRIP.links,
            Link(source_tag="TT-601", source_port="Output", target_tag="TIC-601", target_port="Input"),
        ),
    )
    assert said("trip-shares-sensor", loop) == ["TSHH-601 trips and TIC-601 controls, and each reads Output"]

    output = replace(loop.tag("TT-601").port("Output"), name="Output 2")
    apart = sketch.with_tag(loop, "TT-601", ports=(*loop.tag("TT-601").ports, output))
    apart = sketch.with_link(apart, "TIC-601", "Input", source_port="Output 2")
    assert findings("trip-shares-sensor", apart) == []
    justified = replace(loop, safety=replace(loop.safety, shared_sensor_justified="SRS 4.2"))
    assert findings("trip-shares-sensor", justified) == []


def test_a_trip_and_a_controller_on_one_valve_share_it():
    loop = replace(
        TRIP,
        tags=(*TRIP.tags, sketch.temperature_loop("601").tag("TIC-601")),
        links=(
            *TRIP.links,
            Link(source_tag="TIC-601", source_port="Output 1", target_tag="TZ-601", target_port="Signal"),
        ),
    )
    signal = replace(loop.tag("TZ-601").port("Coil"), name="Signal", purpose=Purpose.CONTROL, signal="4-20mA")
    loop = sketch.with_tag(loop, "TZ-601", ports=(*loop.tag("TZ-601").ports, signal))

    assert said("trip-shares-sensor", loop) == ["TSHH-601 trips and TIC-601 controls, and each drives it"]


def test_a_trip_beyond_the_safe_limit_is_flagged_as_such():
    assert said("trip-too-close", sketch.trip_loop(trip_at="251")) == [
        "Trip at 251 °C lies beyond the safe limit 250 °C"
    ]


def test_a_trip_that_energises_is_right_where_its_line_is_monitored():
    loop = sketch.with_alarm(TRIP, "TSHH-601", "Trip", coil=CoilState.ENERGISES, line_monitored=True)

    assert findings("trip-energises", loop) == []


def test_a_part_of_a_safety_claim_that_fails_alone_is_flagged_whatever_is_missing():
    loop = sketch.trip_loop(final_failures="2.5e-6")
    loop = replace(loop, safety=replace(loop.safety, logic_pfd=None))

    assert said("sil-target-missed", loop) == [
        "SIL 2 is the target; sensor 0.00100, final element 0.01095 make 0.01195: SIL 1"
    ]


def test_settings_left_in_another_unit_or_not_noted_are_no_difference():
    required = T().tag("TIC-101").settings
    left = replace(required, range=span("32-392 degF"), filter_s=None, set_point=number("120.0"))

    assert findings("left-otherwise-than-required", sketch.with_tag(T(), "TIC-101", as_left=left)) == []
    other = replace(required, action=Action.DIRECT, filter_s=number(5))
    assert said("left-otherwise-than-required", sketch.with_tag(T(), "TIC-101", as_left=other)) == [
        "filter s: required 2 s, left 5 s",
        "action: required reverse, left direct",
    ]


def test_an_old_revision_says_nothing_of_what_is_in_store():
    loop = sketch.with_model(T(), "TIC-101", obsolete=True)

    assert findings("obsolete-without-spare", loop) == []


@pytest.mark.parametrize("state", [AssetState.IN_STORE, AssetState.IN_WORKSHOP, AssetState.SCRAPPED])
def test_what_is_installed_is_in_no_other_state(state):
    tag = T().tag("TIC-101")

    assert said("asset-not-in-service", sketch.with_tag(T(), "TIC-101", asset=replace(tag.asset, state=state))) == [
        f"A1012 is installed here and recorded as {state}"
    ]


@pytest.mark.parametrize(("loop", "tag"), [("10-T-0101", "10-TV-101"), ("T-101", "TV-101B"), ("Kiln", "TV-7")])
def test_a_number_is_the_same_with_or_without_zeros_and_suffix(loop, tag):
    named = replace(sketch.renamed(T(), "TV-101", tag), number=loop)

    assert [text for text in said("member-of-another-loop", named) if tag in text or "7" in text] == []


def test_a_tag_of_another_unit_is_of_another_loop():
    named = replace(sketch.renamed(T(), "TV-101", "20-TV-101"), number="10-T-101")

    assert said("member-of-another-loop", named) == ["its number is 20-101, the loop is 10-T-101"]


def test_a_master_needs_no_final_element_of_its_own():
    cascade = sketch.cascade()
    master = sketch.without_tag(T("110"), "TV-110")
    follower = cascade.tag("TIC-102")
    link = replace(cascade.links[-1])
    master = replace(
        sketch.with_tag(master, "TIC-110", ports=cascade.tag("TIC-110").ports),
        links=(*master.links, link),
        neighbours=(follower,),
    )

    assert findings("loop-lacks-member", master) == []


def test_what_is_wrong_at_a_neighbour_is_said_in_its_own_loop():
    loop = sketch.cascade(source_range="0-600 degC", target_range="0-400 degC")
    turned = replace(
        loop, tags=loop.neighbours, neighbours=(loop.tag("TIC-102"),), number="T-110", links=loop.links[-1:]
    )

    assert said("remote-set-point-scaled-differently", loop) != []
    assert said("remote-set-point-scaled-differently", turned) == []


# A right loop with one fact broken


@pytest.mark.parametrize(
    ("broken", "expected"),
    [
        (sketch.with_settings(T(), "TIC-101", control=ControlForm.HEAT_COOL), {"heat-and-cool-with-one-output"}),
        (sketch.with_boards(T(), "TIC-101", bay_1=None), {"output-without-board"}),
        (sketch.with_tag(T(), "TV-101", fail_position=FailPosition.OPEN), {"fails-to-unsafe-position"}),
        (sketch.with_settings(T(), "TIC-101", input_signal="tc-K"), {"sensor-and-input-differ"}),
        (sketch.with_settings(T(), "TIC-101", decimals=3), {"display-cannot-show-range"}),
        (sketch.with_settings(T(), "TIC-101", range=span("0-250 degC")), {"settings-contradict-port"}),
        (sketch.with_tag(T(), "TIC-101", supply_v=number(24)), {"supply-voltage-differs"}),
        (sketch.with_alarm(T(), "TIC-101", "Alarm 1", output=""), {"alarm-drives-nothing"}),
        (sketch.without_link(T(), "TIC-101", "Input"), {"port-not-wired"}),
        (sketch.with_port(P(), "PT-201", "Output", range=span("0-8 bar (gauge)")), {"ends-scaled-differently"}),
        (sketch.with_settings(P(), "PIC-201", range=span("0-12 bar (gauge)")), {"ends-scaled-differently"}),
        (sketch.with_settings(P(), "PIC-201", input_signal="0-20mA"), {"live-zero-differs"}),
        (sketch.with_boards(P(), "PIC-201", bay_3=None), {"output-without-board"}),
        (sketch.with_tag(P(), "PT-201", fault_direction=FaultDirection.DOWNSCALE), {"fault-reads-safe"}),
        (sketch.with_model(TRIP, "TZ-601", fail_position=FailPosition.OPEN), {"fails-to-unsafe-position"}),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, set) else "",
)
def test_one_broken_fact_is_said_by_the_rule_that_it_concerns_and_no_other(broken, expected):
    assert {verdict.rule for verdict in check(broken)} == expected
