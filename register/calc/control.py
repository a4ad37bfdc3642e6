"""Controllers: the forms and units of tuning, tuning rules from a simple process model, the sign round the loop.

Times may be in any unit as long as all are in the same; gains are dimensionless or in output per input.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from register.calc.checked import finite, not_negative, positive
from register.calc.errors import CalculationError, NoEquivalent


@dataclass(frozen=True, slots=True)
class Tuning:
    """Gain, integral time and derivative time; math.inf and 0 switch the two times off."""

    gain: float
    integral_time: float = math.inf
    derivative_time: float = 0.0


@dataclass(frozen=True, slots=True)
class ParallelTuning:
    """Three gains that act side by side."""

    proportional: float
    integral: float
    derivative: float


def gain_of_band(proportional_band_percent: float) -> float:
    """Gain of a proportional band: 100/PB. Raises OutOfRange.

    >>> gain_of_band(50.0)
    2.0
    """
    positive(proportional_band=proportional_band_percent)
    return 100 / proportional_band_percent


def band_of_gain(gain: float) -> float:
    """Proportional band in per cent of a gain: 100/Kc. Raises OutOfRange.

    >>> band_of_gain(2.0)
    50.0
    """
    positive(gain=gain)
    return 100 / gain


def integral_time_s(repeats_per_minute: float) -> float:
    """Integral time in seconds of a reset rate in repeats per minute. Raises OutOfRange.

    >>> integral_time_s(0.1)
    600.0
    """
    positive(repeats_per_minute=repeats_per_minute)
    return 60 / repeats_per_minute


def repeats_per_minute(integral_time_s: float) -> float:
    """Reset rate in repeats per minute of an integral time in seconds. Raises OutOfRange.

    >>> repeats_per_minute(600.0)
    0.1
    """
    positive(integral_time=integral_time_s)
    return 60 / integral_time_s


def ideal_to_parallel(tuning: Tuning) -> ParallelTuning:
    """Kp = Kc, Ki = Kc/Ti, Kd = Kc Td.

    >>> ideal_to_parallel(Tuning(2, 20, 6))
    ParallelTuning(proportional=2, integral=0.1, derivative=12)
    """
    positive(integral_time=min(tuning.integral_time, 1e300))
    return ParallelTuning(tuning.gain, tuning.gain / tuning.integral_time, tuning.gain * tuning.derivative_time)


def parallel_to_ideal(gains: ParallelTuning) -> Tuning:
    """Kc = Kp, Ti = Kp/Ki, Td = Kd/Kp. Raises NoEquivalent where there is no proportional gain.

    >>> parallel_to_ideal(ParallelTuning(2.5, 0.05, 10))
    Tuning(gain=2.5, integral_time=50.0, derivative_time=4.0)
    """
    finite(proportional_gain=gains.proportional, integral_gain=gains.integral, derivative_gain=gains.derivative)
    if gains.proportional == 0:
        raise NoEquivalent("Without a proportional gain there is no ideal form.")
    integral_time = gains.proportional / gains.integral if gains.integral else math.inf
    return Tuning(gains.proportional, integral_time, gains.derivative / gains.proportional)


def series_to_ideal(tuning: Tuning) -> Tuning:
    """Kc = K(1 + Td/Ti), Ti + Td, Ti Td/(Ti + Td) of the series form.

    >>> series_to_ideal(Tuning(2, 40, 20))
    Tuning(gain=3.0, integral_time=60, derivative_time=13.333333333333334)
    """
    positive(integral_time=min(tuning.integral_time, 1e300))
    not_negative(derivative_time=tuning.derivative_time)
    if math.isinf(tuning.integral_time):
        return tuning
    whole = tuning.integral_time + tuning.derivative_time
    return Tuning(
        tuning.gain * whole / tuning.integral_time, whole, tuning.integral_time * tuning.derivative_time / whole
    )


def ideal_to_series(tuning: Tuning) -> Tuning:
    """The series form of an ideal tuning; exists only where Ti ≥ 4 Td, else NoEquivalent.

    >>> round(ideal_to_series(Tuning(4.8, 12, 5 / 3)).gain, 6)
    4.0
    """
    positive(integral_time=min(tuning.integral_time, 1e300))
    not_negative(derivative_time=tuning.derivative_time)
    if math.isinf(tuning.integral_time):
        return tuning
    inside = 0.25 - tuning.derivative_time / tuning.integral_time
    if inside < -1e-12:
        raise NoEquivalent(
            f"Ti {tuning.integral_time:g} is less than four times Td {tuning.derivative_time:g}: no series form exists."
        )
    factor = 0.5 + math.sqrt(max(inside, 0.0))
    return Tuning(tuning.gain * factor, tuning.integral_time * factor, tuning.derivative_time / factor)


# Tuning rules


@dataclass(frozen=True, slots=True)
class Process:
    """First order plus dead time: gain × exp(−dead time × s)/(time constant × s + 1)."""

    gain: float
    time_constant: float
    dead_time: float

    def __post_init__(self) -> None:
        finite(gain=self.gain)
        positive(time_constant=self.time_constant, dead_time=self.dead_time)
        if self.gain == 0:
            raise CalculationError("A process without gain cannot be controlled.")


def ultimate(process: Process) -> tuple[float, float]:
    """Ultimate gain and period: where the phase of the process passes −180°.

    >>> ku, pu = ultimate(Process(4, 7, 3.5)); round(ku, 4), round(pu, 3)
    (0.9517, 11.974)
    """
    low, high = 0.0, math.pi / process.dead_time
    for _ in range(200):
        w = (low + high) / 2
        if process.dead_time * w + math.atan(process.time_constant * w) < math.pi:
            low = w
        else:
            high = w
    return math.hypot(1, process.time_constant * low) / abs(process.gain), 2 * math.pi / low


def _mode(rules: dict[str, Tuning], mode: str) -> Tuning:
    if mode not in rules:
        raise CalculationError(f"This rule tunes {', '.join(rules)}, not {mode}.")
    return rules[mode]


def ziegler_nichols(ku: float, pu: float, mode: str = "PID") -> Tuning:
    """From the ultimate gain and period; ideal form. Source: Ziegler and Nichols, 1942.

    >>> ziegler_nichols(0.95, 12, "PI")
    Tuning(gain=0.4275, integral_time=10.0, derivative_time=0.0)
    """
    positive(ultimate_gain=ku, ultimate_period=pu)
    return _mode(
        {"P": Tuning(0.5 * ku), "PI": Tuning(0.45 * ku, pu / 1.2), "PID": Tuning(0.6 * ku, pu / 2, pu / 8)}, mode
    )


def ziegler_nichols_reaction_curve(process: Process, mode: str = "PID") -> Tuning:
    """From a step response; ideal form. Source: Ziegler and Nichols, 1942.

    >>> ziegler_nichols_reaction_curve(Process(4, 7, 3.5), "PID").gain
    0.6
    """
    base = process.time_constant / (process.gain * process.dead_time)
    dead = process.dead_time
    return _mode(
        {"P": Tuning(base), "PI": Tuning(0.9 * base, dead / 0.3), "PID": Tuning(1.2 * base, 2 * dead, 0.5 * dead)}, mode
    )


def tyreus_luyben(ku: float, pu: float, mode: str = "PI") -> Tuning:
    """Calmer than Ziegler and Nichols, from the same test; ideal form. Source: Tyreus and Luyben, 1992.

    >>> tyreus_luyben(1.0, 10.0)
    Tuning(gain=0.31, integral_time=22.0, derivative_time=0.0)
    """
    positive(ultimate_gain=ku, ultimate_period=pu)
    return _mode({"PI": Tuning(0.31 * ku, 2.2 * pu), "PID": Tuning(0.45 * ku, 2.2 * pu, pu / 6.3)}, mode)


def cohen_coon(process: Process, mode: str = "PID") -> Tuning:
    """For processes with much dead time; ideal form. Source: Cohen and Coon, 1953.

    >>> cohen_coon(Process(1, 50, 30), "P").gain
    2.0
    """
    dead, r = process.dead_time, process.dead_time / process.time_constant
    base = 1 / (process.gain * r)
    return _mode(
        {
            "P": Tuning(base * (1 + r / 3)),
            "PI": Tuning(base * (0.9 + r / 12), dead * (30 + 3 * r) / (9 + 20 * r)),
            "PID": Tuning(base * (4 / 3 + r / 4), dead * (32 + 6 * r) / (13 + 8 * r), dead * 4 / (11 + 2 * r)),
        },
        mode,
    )


def lambda_pi(process: Process, closed_loop_time: float) -> Tuning:
    """PI for a chosen time constant of the closed loop. Source: lambda tuning; Rivera, Morari and Skogestad, 1986.

    >>> lambda_pi(Process(1, 50, 30), 50).gain
    0.625
    """
    positive(closed_loop_time=closed_loop_time)
    gain = process.time_constant / (process.gain * (closed_loop_time + process.dead_time))
    return Tuning(gain, process.time_constant)


def imc_pid(process: Process, closed_loop_time: float) -> Tuning:
    """PID by internal model control; ideal form. Source: Rivera, Morari and Skogestad, 1986.

    >>> imc_pid(Process(1, 10, 2), 3).integral_time
    11.0
    """
    positive(closed_loop_time=closed_loop_time)
    half = process.dead_time / 2
    time = process.time_constant + half
    return Tuning(
        time / (process.gain * (closed_loop_time + half)),
        time,
        process.time_constant * process.dead_time / (2 * process.time_constant + process.dead_time),
    )


def simc_pi(process: Process, closed_loop_time: float) -> Tuning:
    """PI by SIMC. Source: Skogestad, J. Process Control 13 (2003) 291–309.

    >>> simc_pi(Process(4, 7, 3.5), 3.5)
    Tuning(gain=0.25, integral_time=7, derivative_time=0.0)
    """
    not_negative(closed_loop_time=closed_loop_time)
    reach = closed_loop_time + process.dead_time
    return Tuning(process.time_constant / (process.gain * reach), min(process.time_constant, 4 * reach))


def simc_pid_series(process: Process, second_time_constant: float, closed_loop_time: float) -> Tuning:
    """PID by SIMC for a second-order process; series form. Source: as :func:`simc_pi`.

    >>> simc_pid_series(Process(1, 2.0, 0.77), 1.2, 0.77).derivative_time
    1.2
    """
    not_negative(second_time_constant=second_time_constant)
    pi = simc_pi(process, closed_loop_time)
    return Tuning(pi.gain, pi.integral_time, second_time_constant)


def half_rule(
    lags: list[float], order: int, *, delay: float = 0.0, rhp_zeros: list[float] = (), lhp_zeros: list[float] = ()
) -> tuple[tuple[float, ...], float]:
    """Reduce a chain of lags to one or two and a dead time; small left-half-plane zeros shorten the dead time.

    Returns the lags kept and the effective dead time. Source: Skogestad, 2003, section 2.

    >>> lags, dead = half_rule([2, 1, .4, .2, .05, .05, .05], 1, rhp_zeros=[.3], lhp_zeros=[.08]); lags, round(dead, 2)
    ((2.5,), 1.47)
    """
    if order not in (1, 2) or len(lags) < order:
        raise CalculationError("The rule keeps one or two of at least as many lags.")
    for lag in (*lags, *rhp_zeros, *lhp_zeros):
        not_negative(time_constant=lag)
    ordered = sorted(lags, reverse=True)
    kept, rest = ordered[:order], ordered[order:]
    dead_time = delay + sum(rest) + sum(rhp_zeros) - sum(lhp_zeros)
    if rest:
        kept[-1] += rest[0] / 2
        dead_time -= rest[0] / 2
    return tuple(kept), dead_time


# The sign round the loop

_SIGNS = {
    "direct": 1,
    "reverse": -1,
    "air-to-open": 1,
    "air-to-close": -1,
    "opens": 1,
    "closes": -1,
    "rises": 1,
    "falls": -1,
}


def _sign(word: str) -> int:
    if word not in _SIGNS:
        raise CalculationError(f"“{word}” is no action: {', '.join(_SIGNS)}.")
    return _SIGNS[word]


def action_is_right(action: str, valve: str, process_sign: int, inverted: bool = False) -> bool:
    """Whether the product of the signs round the loop is negative.

    ``action`` direct: output rises with the measured value; ``valve`` air-to-open or opens: opens as its signal rises;
    ``process_sign`` +1: the measured value rises as the valve opens; ``inverted``: a reversing positioner or converter.
    Source: common practice.

    >>> action_is_right("direct", "air-to-open", 1), action_is_right("reverse", "air-to-open", 1)
    (False, True)
    """
    if process_sign not in (1, -1):
        raise CalculationError(f"The sign of a process is +1 or −1, not {process_sign}.")
    return _sign(action) * _sign(valve) * process_sign * (-1 if inverted else 1) < 0


def action_needed(valve: str, process_sign: int, inverted: bool = False) -> str:
    """ "direct" or "reverse": what makes the loop's sign negative.

    >>> action_needed("air-to-open", 1)
    'reverse'
    """
    return "direct" if action_is_right("direct", valve, process_sign, inverted) else "reverse"


def fail_position(valve: str) -> str:
    """Where a spring-return valve goes when it loses its air: air-to-open closes, air-to-close opens.

    >>> fail_position("air-to-open")
    'closed'
    """
    return "closed" if _sign(valve) > 0 else "open"
