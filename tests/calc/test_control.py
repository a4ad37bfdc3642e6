from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from register.calc import control
from register.calc.control import ParallelTuning, Process, Tuning
from register.calc.errors import CalculationError, NoEquivalent, OutOfRange

gains, times = st.floats(0.01, 100), st.floats(0.1, 1000)


@given(gains, times, st.floats(0, 1))
def test_series_to_ideal_and_back_is_the_same_tuning(gain, integral, share):
    """The series form with the smaller derivative time is the one that comes back."""
    series = Tuning(gain, integral, integral * share)
    back = control.ideal_to_series(control.series_to_ideal(series))

    assert back.gain == pytest.approx(series.gain, rel=1e-5)
    assert back.integral_time == pytest.approx(series.integral_time, rel=1e-5)
    assert back.derivative_time == pytest.approx(series.derivative_time, rel=1e-5, abs=1e-9)


@given(gains, times, times)
def test_ideal_to_parallel_and_back_is_the_same_tuning(gain, integral, derivative):
    back = control.parallel_to_ideal(control.ideal_to_parallel(Tuning(gain, integral, derivative)))

    assert (back.gain, back.integral_time, back.derivative_time) == pytest.approx((gain, integral, derivative))


@given(gains)
def test_band_and_gain_are_each_others_inverse(gain):
    assert control.gain_of_band(control.band_of_gain(gain)) == pytest.approx(gain)


@given(st.floats(0.1, 10), times, times)
def test_at_the_ultimate_gain_the_loop_is_on_the_edge(gain, tau, theta):
    """There the open loop has phase −180° and gain 1 (Nyquist)."""
    ku, pu = control.ultimate(Process(gain, tau, theta))
    w = 2 * math.pi / pu

    assert theta * w + math.atan(tau * w) == pytest.approx(math.pi, rel=1e-9)
    assert ku * gain / math.hypot(1, tau * w) == pytest.approx(1, rel=1e-9)


def test_series_settings_typed_unchanged_into_an_ideal_controller_are_wrong():
    """Kc 2, Ti 40 s, Td 20 s in series is 3.0, 60 s, 13.3 s ideal (algebra of the forms)."""
    ideal = control.series_to_ideal(Tuning(2, 40, 20))

    assert (ideal.gain, ideal.integral_time, ideal.derivative_time) == pytest.approx((3.0, 60.0, 13.333), abs=0.001)


def test_without_an_equivalent_form_the_reason_is_given():
    with pytest.raises(NoEquivalent, match="less than four times Td"):
        control.ideal_to_series(Tuning(1, 4, 1.1))
    with pytest.raises(NoEquivalent, match="Without a proportional gain"):
        control.parallel_to_ideal(ParallelTuning(0, 0.1, 1))
    with pytest.raises(NoEquivalent, match="opposite signs"):
        control.parallel_to_ideal(ParallelTuning(1, -0.1, 0))


RULES = {
    "ZN ultimate": lambda process: control.ziegler_nichols(*control.ultimate(process), "PI"),
    "ZN reaction curve": lambda process: control.ziegler_nichols_reaction_curve(process, "PI"),
    "Tyreus-Luyben": lambda process: control.tyreus_luyben(*control.ultimate(process), "PI"),
    "Cohen-Coon": lambda process: control.cohen_coon(process, "PI"),
    "SIMC": lambda process: control.simc_pi(process, process.dead_time),
    "lambda": lambda process: control.lambda_pi(process, process.time_constant),
}


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("dead_share", [0.1, 0.3, 1.0])
def test_every_rule_leaves_the_loop_stable(rule, dead_share):
    """Nyquist: where the open loop's phase passes −180°, its gain is below 1."""
    process = Process(2.0, 10.0, 10.0 * dead_share)
    tuning = RULES[rule](process)

    def phase(w):
        of_controller = math.atan(tuning.integral_time * w) - math.pi / 2
        return of_controller - math.atan(process.time_constant * w) - process.dead_time * w

    w = optimize.brentq(lambda w: phase(w) + math.pi, 1e-6, math.pi / process.dead_time)
    open_loop = tuning.gain * math.hypot(1, 1 / (tuning.integral_time * w)) * process.gain
    assert open_loop / math.hypot(1, process.time_constant * w) < 1


def test_zeros_that_outweigh_the_dead_time_are_refused():
    with pytest.raises(OutOfRange, match=r"dead time of -0\.5"):
        control.half_rule([2, 1], 1, lhp_zeros=[1])


@pytest.mark.parametrize(
    ("action", "valve", "process"),
    list(itertools.product(("direct", "reverse"), ("air-to-open", "air-to-close"), (1, -1))),
)
def test_the_action_needed_is_the_one_that_is_right(action, valve, process):
    assert control.action_is_right(action, valve, process) == (control.action_needed(valve, process) == action)


def test_bad_input_says_what_is_valid():
    with pytest.raises(OutOfRange, match="proportional band must be above 0"):
        control.gain_of_band(0)
    with pytest.raises(CalculationError, match="without gain"):
        Process(0, 1, 1)
    with pytest.raises(CalculationError, match="tunes PI, PID, not P"):
        control.tyreus_luyben(1, 1, "P")
