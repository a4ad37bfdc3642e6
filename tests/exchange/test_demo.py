"""The demo plant: most of it right, and every rule broken somewhere on purpose."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta

import pytest
from django.utils import timezone

from register.exchange import demo
from register.exchange.demo import load_demo
from register.exchange.reading import read_workbook
from register.models import Calibration, Finding, Loop, Revision
from register.rules.engine import all_rules

EXPECTED = {
    "L-407": {
        "calibrated-range-is-not-working-range",
        "ends-scaled-differently",
        "split-range-does-not-meet",
        "terminal-used-twice",
    },
    "P-413": {"alarm-without-deadband", "range-beyond-transmitter", "supply-overloaded", "terminal-used-twice"},
    "P-417": {"loop-lacks-member", "port-not-wired", "turndown-too-large"},
    "T-406": {
        "accuracy-budget-exceeded",
        "ambient-beyond-rating",
        "input-not-taken",
        "supply-voltage-differs",
        "tuning-of-another-form",
    },
    "T-409": {"sensor-and-input-differ"},
    "T-415": {
        "class-claimed-outside-its-range",
        "extension-cable-too-hot",
        "extension-cores-crossed",
        "range-beyond-sensor",
        "serial-number-twice",
    },
    "L-418": {"temperature-class-too-weak"},
    "A-504": {"fault-current-not-recognised", "powered-from-both-ends", "standard-not-good-enough"},
    "T-505": {
        "accuracy-budget-exceeded",
        "derivative-implausible",
        "lead-error-too-large",
        "leakage-holds-load",
        "remote-set-point-without-input",
        "signals-and-power-in-one-cable",
    },
    "T-511": {"range-beyond-input", "type-b-at-low-temperature"},
    "L-507": {"entity-parameters-exceeded", "protection-does-not-suit-zone", "safe-circuit-cable-not-recorded"},
    "P-506": {"another-model-installed", "not-certified-for-area"},
    "F-221": {"alarm-output-without-alarm", "calibration-incomplete", "root-not-extracted-once"},
    "F-222": {
        "digital-select-without-input",
        "display-cannot-show-range",
        "low-flow-cutoff-missing",
        "screen-not-earthed-once",
        "sign-round-the-loop",
    },
    "M-203": {"asset-not-in-service", "input-without-board", "output-without-board"},
    "M-204": {"board-not-taken-by-bay", "obsolete-without-spare", "output-without-board", "second-board-of-a-kind"},
    "P-232": {"member-of-another-loop", "two-wire-supply-not-one"},
    "T-213": {
        "cable-too-small",
        "cycle-time-does-not-suit",
        "duplicate-address",
        "logic-drive-does-not-suit",
        "signals-of-different-kind",
        "wires-at-sensor-and-input-differ",
    },
    "T-214": {
        "cycle-time-does-not-suit",
        "duplicate-address",
        "left-otherwise-than-required",
        "set-point-limits-outside-range",
    },
    "T-311": {
        "cascade-ring",
        "cascade-speeds-alike",
        "fault-reads-safe",
        "secondary-left-in-local",
        "settings-contradict-port",
    },
    "T-312": {
        "cascade-ring",
        "cascade-speeds-alike",
        "fails-to-unsafe-position",
        "remote-set-point-beyond-limits",
        "remote-set-point-scaled-differently",
        "wrong-extension-cable",
    },
    "T-313": {"bus-not-terminated-at-its-ends", "bus-overloaded", "retransmission-scaled-differently"},
    "T-316": {"cold-junction-missing", "proof-test-overdue", "sil-target-missed", "trip-too-close"},
    "L-331": {"core-used-twice", "reversed-at-one-end", "too-little-voltage"},
    "A-332": {"digital-messages-swallowed", "gas-group-does-not-suit"},
    "A-106": {"line-settings-differ", "live-zero-differs", "signals-of-different-kind"},
    "A-107": {"alarm-drives-nothing", "board-unused", "voltage-signal-too-far"},
    "F-110": {"retransmission-scaled-differently"},
    "L-102": {"alarms-out-of-order", "contact-overloaded", "output-used-twice", "trip-energises", "trip-shares-sensor"},
    "P-112": {
        "alarm-outside-range",
        "current-output-overloaded",
        "ends-of-different-dimension",
        "front-does-not-fit-cutout",
        "two-earthed-readers",
    },
    "T-103": {
        "accuracy-budget-exceeded",
        "display-too-coarse",
        "motorised-valve-without-two-outputs",
        "pneumatic-spans-differ",
        "sensor-uses-up-accuracy",
    },
    "T-105": {"address-out-of-range", "heat-and-cool-with-one-output"},
    "T-111": {
        "accuracy-budget-exceeded",
        "calibration-overdue",
        "platinum-curve-differs",
        "serial-number-twice",
        "tag-letters-do-not-fit",
    },
}


@pytest.fixture
def larkwater(person):
    load_demo(by=person("planner"))


@pytest.mark.django_db
def test_the_loops_broken_on_purpose_have_their_findings_and_the_others_none(larkwater):
    found = defaultdict(set)
    for loop, rule in Finding.objects.open().values_list("loop__number", "rule"):
        found[loop].add(rule)
    assert found == EXPECTED


@pytest.mark.django_db
def test_every_rule_fires_in_the_demo(larkwater):
    fired = set(Finding.objects.open().filter(unknown=False).values_list("rule", flat=True))
    assert fired == set(all_rules())


@pytest.mark.django_db
def test_most_of_the_plant_is_right(larkwater):
    assert Loop.objects.count() >= 60
    assert len(EXPECTED) < Loop.objects.count() / 2


@pytest.mark.django_db
def test_a_register_that_holds_loops_is_left_as_it_is(larkwater, person):
    Loop.objects.filter(number="L-101").update(service="changed by hand")
    load_demo(by=person("planner"))
    assert Loop.objects.get(number="L-101").service == "changed by hand"
    assert not Revision.objects.filter(number=2).exists()


@pytest.mark.django_db
def test_dates_are_moved_to_now_so_that_nothing_falls_due_by_itself(person, monkeypatch):
    ten_years = timedelta(days=3650)
    monkeypatch.setattr(demo, "WRITTEN_ON", timezone.localdate() - ten_years)
    load_demo(by=person("planner"))
    rows = read_workbook(demo.WORKBOOK.read_bytes()).sheets[Calibration].rows
    written = {(row.facts["tag__name"], row.facts["on"]) for row in rows}
    moved = Calibration.objects.values_list("tag__name", "on")
    assert {(tag, day - ten_years) for tag, day in moved} == written
