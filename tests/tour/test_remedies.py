"""On the demo plant each finding's remedy is followed at the screen, one after another, until no finding is left."""

from __future__ import annotations

import pytest

from register.exchange.demo import load_demo
from register.models import Finding, Port
from tests.browser import DESK
from tests.tour.hands import Hands, today

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

POSITIONER = {"signal": "4-20mA"}

REMEDIES = (
    # Steeping
    ("A-106", "line-settings-differ", lambda at: at.settings("AIC-106", serial_parity="even")),
    (
        "A-106",
        "live-zero-differs",
        lambda at: (
            at.port("AIC-106", "Input", signal="4-20mA"),
            at.settings("AIC-106", input_signal="4-20mA", fault_below_ma="3.6", fault_above_ma="21.0"),
        ),
    ),
    (
        "A-106",
        "signals-of-different-kind",
        lambda at: (at.port("AZ-106", "Signal", **POSITIONER), at.swap("AZ-106", "Whirl 11")),
    ),
    (
        "A-107",
        "alarm-drives-nothing board-unused",
        lambda at: (
            at.new_port(
                "AIC-107",
                name="Relay 2",
                direction="out",
                purpose="alarm",
                signal="relay-contact",
                bay="2",
                terminals="21 22",
            ),
            at.alarm("AIC-107", "Low", output="AIC-107 Relay 2", coil="de-energises"),
        ),
    ),
    (
        "A-107",
        "voltage-signal-too-far",
        lambda at: (
            at.port("AIC-107", "Output 1", **POSITIONER),
            at.port("AZ-107", "Signal", **POSITIONER),
            at.swap("AZ-107", "Whirl 11"),
        ),
    ),
    ("F-110", "retransmission-scaled-differently", lambda at: at.port("FR-110", "Channel 1", range_high=120)),
    ("L-102", "alarms-out-of-order", lambda at: at.alarm("LIC-102", "High", set_point="3.40")),
    ("L-102", "contact-overloaded", lambda at: at.swap("LV-102", "Nip 80")),
    (
        "L-102",
        "output-used-twice",  # the supply makes room for a relay: a supply unit of its own feeds the transmitter
        lambda at: (
            at.unlink("LT-102", "Supply"),
            at.fill("tags:port_remove", "LIC-102", port_of("LIC-102", "Supply 3")),
            at.board_out("LIC-102", "3"),
            at.board_in("LIC-102", "3", "Relay board"),
            at.new_port(
                "LIC-102",
                name="Relay 3",
                direction="out",
                purpose="alarm",
                signal="relay-contact",
                bay="3",
                terminals="31 32",
            ),
            at.alarm("LIC-102", "High", output="LIC-102 Relay 3"),
            at.fill(
                "tags:create",
                "L-102",
                name="LY-102",
                role="power supply",
                location="panel",
                place="Panel P1",
                supply_kind="a.c.",
                supply_v=230,
            ),
            at.new_port(
                "LY-102",
                name="Output 1",
                direction="out",
                purpose="transmitter supply",
                signal="24V-supply",
                terminals="+1 -1",
            ),
            at.install("LY-102", "Hearth 24"),
            at.new_link("LY-102", "Output 1", "LT-102", "Supply"),
        ),
    ),
    ("L-102", "trip-energises", lambda at: at.alarm("LIC-102", "Overfill", coil="de-energises")),
    (
        "L-102",
        "trip-shares-sensor",
        lambda at: at.loop("L-102", shared_sensor_justified="SRS 4.2: overflow runs to the drain"),
    ),
    ("P-112", "alarm-outside-range", lambda at: at.alarm("PIC-112", "High", set_point=550)),
    (
        "P-112",
        "current-output-overloaded two-earthed-readers",
        lambda at: (at.swap("PZ-112A", "Whirl 11"), at.swap("PZ-112B", "Whirl 11")),
    ),
    (
        "P-112",
        "ends-of-different-dimension",
        lambda at: (
            at.port("PIC-112", "Input", range_reference="gauge"),
            at.settings("PIC-112", range_reference="gauge"),
        ),
    ),
    (
        "P-112",
        "front-does-not-fit-cutout",
        lambda at: at.tag("PIC-112", cutout_width_mm=45, cutout_height_mm=92),
    ),
    (
        "T-103",
        "accuracy-budget-exceeded sensor-uses-up-accuracy",
        lambda at: at.swap("TE-103", "Stem P100"),
    ),
    ("T-103", "display-too-coarse", lambda at: at.settings("TIC-103", decimals=1)),
    ("T-103", "motorised-valve-without-two-outputs", lambda at: at.settings("TIC-103", control="single output")),
    (
        "T-103",
        "pneumatic-spans-differ",
        lambda at: (at.port("TY-103", "Output", signal="0.2-1bar"), at.swap("TY-103", "Breath B")),
    ),
    ("T-105", "address-out-of-range", lambda at: at.settings("TIC-105", serial_address=25)),
    ("T-105", "heat-and-cool-with-one-output", lambda at: at.settings("TIC-105", control="single output")),
    (
        "T-111",
        "serial-number-twice",
        lambda at: at.asset("LM-0035", serial="Q90920"),
    ),
    (
        "T-111",
        "platinum-curve-differs accuracy-budget-exceeded",
        lambda at: (at.port("TE-111", "Element", signal="pt100"), at.swap("TE-111", "Stem P100")),
    ),
    ("T-111", "calibration-overdue", lambda at: at.calibrate("TE-111", tolerance="0.5", uncertainty="0.1")),
    ("T-111", "tag-letters-do-not-fit", lambda at: at.tag("PI-111", name="TI-111")),
    # Germination
    (
        "F-221",
        "alarm-output-without-alarm",
        lambda at: at.fill(
            "tags:alarm_create",
            "FIC-221",
            name="Low",
            kind="low",
            set_point="5.0",
            deadband="0.6",
            priority=2,
            output="FIC-221 Relay 2",
            coil="de-energises",
            action="See that the fan runs",
        ),
    ),
    ("F-221", "calibration-incomplete", lambda at: at.calibrate("FT-221", tolerance="0.5", uncertainty="0.1")),
    ("F-221", "root-not-extracted-once", lambda at: at.settings("FIC-221", square_root=True, low_cutoff_percent=6)),
    ("F-222", "digital-select-without-input", lambda at: at.settings("FIC-222", set_point_source="local")),
    (
        "F-222",
        "display-cannot-show-range",
        lambda at: (
            at.port("FIC-222", "Input", range_low="0.0", range_high="30.0", range_unit="MQS"),
            at.settings(
                "FIC-222",
                range_low="0.0",
                range_high="30.0",
                range_unit="MQS",
                decimals=1,
                set_point="20.0",
                set_point_low="0.0",
                set_point_high="30.0",
            ),
            at.alarm("FIC-222", "Low", set_point="5.0", deadband="0.6"),
            at.loop("F-222", normal_value="20.0"),
        ),
    ),
    ("F-222", "low-flow-cutoff-missing", lambda at: at.settings("FIC-222", low_cutoff_percent=6)),
    ("F-222", "screen-not-earthed-once", lambda at: at.cable("C-FT-222", screen_earthed_at="Panel P2")),
    ("F-222", "sign-round-the-loop", lambda at: at.settings("FIC-222", action="reverse")),
    ("M-203", "asset-not-in-service", lambda at: at.asset("LM-0049", state="in service", store_place="")),
    ("M-203", "input-without-board", lambda at: at.board_in("MIC-203", "4", "Serial board")),
    ("M-203", "output-without-board", lambda at: at.board_in("MIC-203", "1", "Linear board")),
    (
        "M-204",
        "board-not-taken-by-bay second-board-of-a-kind output-without-board",
        lambda at: (at.board_out("MIC-204", "3"), at.board_in("MIC-204", "3", "Supply board")),
    ),
    ("M-204", "obsolete-without-spare", lambda at: at.swap("MT-204", "Damp")),
    ("P-232", "member-of-another-loop", lambda at: at.tag("PT-223", name="PT-232")),
    (
        "P-232",
        "two-wire-supply-not-one",
        lambda at: (
            at.new_port(
                "PI-232",
                name="Supply 24 V",
                direction="out",
                purpose="transmitter supply",
                signal="24V-supply",
                terminals="7 8",
            ),
            at.new_link("PI-232", "Supply 24 V", "PT-232", "Supply"),
        ),
    ),
    ("T-213", "cable-too-small", lambda at: at.cable("C-TE-213", cores=4)),
    ("T-213", "wires-at-sensor-and-input-differ", lambda at: at.settings("TIC-213", input_wires=3)),
    ("T-213", "duplicate-address", lambda at: at.settings("TIC-213", serial_address=13)),
    (
        "T-213",
        "cycle-time-does-not-suit logic-drive-does-not-suit signals-of-different-kind",
        lambda at: (
            at.board_out("TIC-213", "1"),
            at.board_in("TIC-213", "1", "Relay board"),
            at.port("TIC-213", "Logic 1", name="Relay 1", signal="relay-contact"),
            at.settings("TIC-213", cycle_time_s=20),
        ),
    ),
    (
        "T-214",
        "cycle-time-does-not-suit left-otherwise-than-required set-point-limits-outside-range",
        lambda at: at.settings("TIC-214", cycle_time_s=20, set_point_high="22.0"),
    ),
    # Kilning
    (
        "A-332",
        "digital-messages-swallowed",
        lambda at: (
            at.port("AI-332", "Input", signal="1-5V"),
            at.settings("AI-332", input_signal="1-5V", fault_below_ma="", fault_above_ma=""),
            at.link("AI-332", "Input", shunt_ohm=250),
        ),
    ),
    ("A-332", "gas-group-does-not-suit", lambda at: at.swap("AT-332", "Sniff C")),
    (
        "L-331",
        "core-used-twice",
        lambda at: at.core("LI-331", "Input", "C-LT-331", "1", core="2"),
    ),
    ("L-331", "reversed-at-one-end", lambda at: at.port("LT-331", "Output", reversed=False)),
    ("L-331", "too-little-voltage", lambda at: at.link("LI-331", "Input", shunt_ohm="")),
    (
        "T-311",
        "cascade-ring cascade-speeds-alike secondary-left-in-local",
        lambda at: (
            at.unlink("TIC-311", "Remote set point 5"),
            at.fill("tags:port_remove", "TIC-311", port_of("TIC-311", "Remote set point 5")),
            at.fill("tags:port_remove", "TIC-312", port_of("TIC-312", "Output 3")),
            at.board_out("TIC-311", "5"),
            at.board_out("TIC-312", "3"),
            at.settings("TIC-311", set_point_source="local"),
        ),
    ),
    ("T-312", "cascade-speeds-alike", lambda at: at.settings("TIC-312", integral=60, derivative=12)),
    ("T-311", "fault-reads-safe", lambda at: at.settings("TIC-311", sensor_break="upscale")),
    ("T-311", "settings-contradict-port", lambda at: at.settings("TIC-311", range_high="120.0")),
    ("T-312", "fails-to-unsafe-position", lambda at: at.tag("TV-312", fail_position="closed")),
    (
        "T-312",
        "remote-set-point-scaled-differently",
        lambda at: at.port("TIC-312", "Remote set point 5", range_low="0.0", range_high="120.0"),
    ),
    ("T-312", "remote-set-point-beyond-limits", lambda at: at.settings("TIC-312", set_point_low=0)),
    ("T-312", "wrong-extension-cable", lambda at: at.cable("C-TE-312", designation="KX")),
    (
        "T-313",
        "bus-overloaded bus-not-terminated-at-its-ends",
        lambda at: at.settings("TR-313", serial_bus="R2", serial_terminated="true"),
    ),
    ("T-313", "retransmission-scaled-differently", lambda at: at.port("TR-313", "Channel 1", range_high="100.0")),
    ("T-316", "cold-junction-missing", lambda at: at.settings("TSHH-316", cold_junction="internal")),
    ("T-316", "proof-test-overdue", lambda at: at.loop("T-316", last_proof_test=today())),
    (
        "T-316",
        "sil-target-missed",
        lambda at: at.loop("T-316", proof_test_interval_months=6, sensor_pfd="0.0040"),
    ),
    ("T-316", "trip-too-close", lambda at: at.alarm("TSHH-316", "Trip", set_point=160)),
    # Boiler house
    (
        "L-407",
        "ends-scaled-differently",
        lambda at: (at.port("LIC-407", "Input", range_high="3.00"), at.settings("LIC-407", range_high="3.00")),
    ),
    (
        "L-407",
        "calibrated-range-is-not-working-range",
        lambda at: at.calibrate("LT-407", tolerance="0.5", uncertainty="0.1"),
    ),
    (
        "L-407",
        "split-range-does-not-meet",
        lambda at: (
            at.port("LV-407A", "Signal", split_high_percent=50),
            at.port("LV-407B", "Signal", split_low_percent=50),
        ),
    ),
    (
        "L-407",
        "terminal-used-twice",
        lambda at: (
            at.core("LIC-407", "Input", "C-LT-407", "2", to_terminal=10),
            at.core("LIC-407", "Input", "MC-BH-1", "10", from_terminal=10),
        ),
    ),
    ("L-418", "temperature-class-too-weak", lambda at: at.swap("LT-418", "Sill X")),
    ("P-413", "alarm-without-deadband", lambda at: at.alarm("PI-413", "Low", deadband="0.3")),
    (
        "P-413",
        "range-beyond-transmitter",
        lambda at: (
            at.port("PT-413", "Output", range_high="25.0"),
            at.port("PI-413", "Input", range_high="25.0"),
            at.settings("PI-413", range_high="25.0"),
            at.calibrate("PT-413", tolerance="0.5", uncertainty="0.1"),
        ),
    ),
    ("P-413", "supply-overloaded", lambda at: at.swap("PY-413", "Hearth 24")),
    (
        "P-417",
        "loop-lacks-member port-not-wired",
        lambda at: (
            at.fill(
                "tags:create",
                "P-417",
                name="PI-417",
                role="indicator",
                location="panel",
                place="Panel P4",
                supply_kind="a.c.",
                supply_v=230,
                cutout_width_mm=92,
                cutout_height_mm=45,
            ),
            at.new_port(
                "PI-417",
                name="Input",
                direction="in",
                purpose="measurement",
                signal="4-20mA",
                terminals="1 2",
                range_low="-1.0",
                range_high="1.0",
                range_unit="MBR",
                range_reference="gauge",
            ),
            at.install("PI-417", "Glance 96"),
            at.new_link("PT-417", "Output", "PI-417", "Input"),
        ),
    ),
    (
        "P-417",
        "turndown-too-large",
        lambda at: (
            at.port("PT-417", "Output", range_reference="differential"),
            at.port("PI-417", "Input", range_reference="differential"),
            at.swap("PT-417", "Delta 20"),
            at.calibrate("PT-417", tolerance="0.5", uncertainty="0.1"),
        ),
    ),
    (
        "T-406",
        "ambient-beyond-rating input-not-taken supply-voltage-differs tuning-of-another-form",
        lambda at: (
            at.port("TIC-406", "Output 1", bay="1"),
            at.port("TIC-406", "Relay 2", bay="2"),
            at.swap("TIC-406", "Folio 96", bays={"1": "Linear board", "2": "Relay board"}),
        ),
    ),
    ("T-406", "accuracy-budget-exceeded", lambda at: at.loop("T-406", required_accuracy="1.5")),
    (
        "T-409",
        "sensor-and-input-differ",
        lambda at: (at.port("TI-409", "Input", signal="tc-K"), at.settings("TI-409", input_signal="tc-K")),
    ),
    (
        "T-415",
        "extension-cores-crossed",
        lambda at: (
            at.core("TI-415", "Input", "C-TE-415", "1", colour="green"),
            at.core("TI-415", "Input", "C-TE-415", "2", colour="white"),
        ),
    ),
    (
        "T-415",
        "extension-cable-too-hot",
        lambda at: at.cable("C-TE-415", designation="KX", temperature_max_c=200),
    ),
    (
        "T-415",
        "class-claimed-outside-its-range range-beyond-sensor",
        lambda at: (at.port("TI-415", "Input", range_high=1000), at.settings("TI-415", range_high=1000)),
    ),
    # Effluent
    ("A-504", "fault-current-not-recognised", lambda at: at.settings("AI-504", fault_above_ma="21.0")),
    ("A-504", "powered-from-both-ends", lambda at: at.port("AI-504", "Input", supplies_loop="false")),
    ("A-504", "standard-not-good-enough", lambda at: at.calibrate("AT-504", tolerance="1.00", uncertainty="0.20")),
    (
        "L-507",
        "entity-parameters-exceeded protection-does-not-suit-zone",
        lambda at: at.swap("LT-507", "Sill X"),
    ),
    (
        "L-507",
        "safe-circuit-cable-not-recorded",
        lambda at: at.cable("C-LT-507", capacitance_pf_per_m=110, inductance_uh_per_m="0.6"),
    ),
    ("P-506", "another-model-installed not-certified-for-area", lambda at: at.swap("PT-506", "Draft 100 X")),
    (
        "T-505",
        "lead-error-too-large accuracy-budget-exceeded",
        lambda at: (at.settings("TIC-505", input_wires=3), at.swap("TE-505", "Stem P100")),
    ),
    ("T-505", "derivative-implausible", lambda at: at.settings("TIC-505", derivative=150)),
    (
        "T-505",
        "leakage-holds-load",
        lambda at: (
            at.board_out("TIC-505", "1"),
            at.board_in("TIC-505", "1", "Relay board"),
            at.port("TIC-505", "Output 1", signal="relay-contact"),
            at.port("TV-505", "Coil", signal="relay-contact"),
        ),
    ),
    ("T-505", "remote-set-point-without-input", lambda at: at.settings("TIC-505", set_point_source="local")),
    (
        "T-505",
        "signals-and-power-in-one-cable",
        lambda at: (
            at.fill("cables:create", name="C-TV-505", use="power", cores=2, csa_mm2="1.5", length_m=60),
            at.core("TV-505", "Coil", "C-TE-505", "3", cable="C-TV-505", core="1"),
            at.core("TV-505", "Coil", "C-TE-505", "4", cable="C-TV-505", core="2"),
            at.new_core(
                "TIC-505",
                "Input",
                cable="C-TE-505",
                core="3",
                colour="red",
                polarity="compensation",
                from_place="TE-505",
                from_terminal="3",
                to_place="TIC-505",
                to_terminal="3",
            ),
        ),
    ),
    (
        "T-511",
        "range-beyond-input type-b-at-low-temperature",
        lambda at: (
            at.port("TI-511", "Input", range_low=100),
            at.settings("TI-511", range_low=100),
            at.alarm("TI-511", "Low", set_point=300),
        ),
    ),
)


def port_of(tag: str, name: str) -> int:
    return Port.objects.get(tag__name=tag, name=name).pk


def test_every_finding_of_the_demo_goes_when_its_remedy_is_followed(open_page, sign_in, person):
    load_demo(by=person("planner"))
    page = open_page(DESK)
    sign_in(page, "planner")
    hands = Hands(page)

    for loop, rules, follow in REMEDIES:
        findings = Finding.objects.open().filter(loop__number=loop)
        for rule in rules.split():
            assert findings.filter(rule=rule).exists(), f"{loop} {rule} was gone before its remedy"
        follow(hands)
        left = list(findings.filter(rule__in=rules.split()).values_list("rule", "text"))
        assert left == [], f"{loop}: the remedy was followed and the finding stays"

    page.goto("/findings/")
    assert page.locator("main tbody tr").all_inner_texts() == []
