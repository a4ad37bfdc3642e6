"""Every check that the trade holds right is built, or there is a reason why not."""

from __future__ import annotations

import pytest

from register.rules.engine import all_rules

BUILT = {
    "R01": "sensor-and-input-differ", "R02": "sensor-and-input-differ", "R03": "sensor-and-input-differ",
    "R04": "input-not-taken signals-of-different-kind", "R05": "range-beyond-sensor",
    "R06": "class-claimed-outside-its-range", "R07": "wrong-extension-cable", "R08": "extension-cable-too-hot",
    "R09": "extension-cores-crossed", "R10": "cold-junction-missing", "R11": "wires-at-sensor-and-input-differ",
    "R12": "lead-error-too-large", "R13": "type-b-at-low-temperature", "R14": "fault-reads-safe",
    "R15": "accuracy-budget-exceeded", "R16": "live-zero-differs", "R17": "ends-scaled-differently",
    "R18": "ends-of-different-dimension ends-scaled-differently", "R19": "reversed-at-one-end",
    "R20": "root-not-extracted-once", "R21": "low-flow-cutoff-missing", "R22": "two-wire-supply-not-one",
    "R23": "two-wire-supply-not-one", "R24": "too-little-voltage", "R26": "fault-current-not-recognised",
    "R27": "alarm-outside-range", "R28": "current-output-overloaded", "R29": "voltage-signal-too-far",
    "R30": "screen-not-earthed-once", "R31": "two-earthed-readers", "R32": "signals-and-power-in-one-cable",
    "R33": "cable-too-small", "R34": "set-point-limits-outside-range", "R35": "remote-set-point-scaled-differently",
    "R36": "remote-set-point-beyond-limits", "R37": "alarm-outside-range", "R38": "alarm-drives-nothing board-unused",
    "R39": "alarms-out-of-order alarm-without-deadband", "R40": "heat-and-cool-with-one-output",
    "R41": "sign-round-the-loop", "R42": "fails-to-unsafe-position", "R43": "split-range-does-not-meet",
    "R44": "cascade-speeds-alike", "R45": "tuning-of-another-form", "R46": "derivative-implausible",
    "R47": "cycle-time-does-not-suit", "R48": "contact-overloaded", "R49": "logic-drive-does-not-suit",
    "R50": "leakage-holds-load", "R51": "output-without-board", "R52": "board-unused",
    "R53": "motorised-valve-without-two-outputs", "R54": "retransmission-scaled-differently",
    "R55": "supply-voltage-differs", "R56": "front-does-not-fit-cutout", "R57": "duplicate-address",
    "R58": "address-out-of-range", "R59": "bus-overloaded",
    "R60": "line-settings-differ bus-not-terminated-at-its-ends", "R61": "entity-parameters-exceeded",
    "R62": "safe-circuit-cable-not-recorded entity-parameters-exceeded", "R63": "entity-parameters-exceeded",
    "R64": "protection-does-not-suit-zone gas-group-does-not-suit", "R65": "temperature-class-too-weak",
    "R66": "not-certified-for-area", "R67": "too-little-voltage", "R68": "trip-shares-sensor",
    "R69": "sil-target-missed", "R70": "trip-energises", "R71": "trip-too-close", "R72": "accuracy-budget-exceeded",
    "R73": "accuracy-budget-exceeded", "R74": "turndown-too-large", "R75": "calibrated-range-is-not-working-range",
    "R76": "calibration-incomplete", "R77": "standard-not-good-enough",
    "R78": "calibration-overdue proof-test-overdue", "R79": "tag-letters-do-not-fit",
    "R80": "member-of-another-loop serial-number-twice", "R81": "loop-lacks-member",
}  # fmt: skip
NOT_BUILT = {
    "R25": "The register does not record which transmitters carry a superimposed digital signal.",
    "R82": "A stock level belongs to a model, not to a loop: the spares page works it out.",
    "R83": "What a spare replaces is asked of the would-be loop when a spare is chosen, not of the loop as it stands.",
    "R84": "The register does not record the walls of panels, nor which devices stand in one.",
}


def test_each_of_the_84_checks_has_its_rule_or_its_reason():
    assert sorted({*BUILT, *NOT_BUILT}) == [f"R{number:02}" for number in range(1, 85)]
    assert not {*BUILT} & {*NOT_BUILT}


@pytest.mark.parametrize(("check", "slugs"), BUILT.items(), ids=list(BUILT))
def test_the_rule_that_builds_a_check_exists(check, slugs):
    assert set(slugs.split()) <= set(all_rules())
