"""Controllers: the forms and units of tuning, tuning rules from a simple process model, the sign round the loop.

Times may be in any unit as long as all are in the same; gains are dimensionless or in output per input.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from register.calc.checked import finite, not_negative, positive
from register.calc.errors import CalculationError, NoEquivalent, OutOfRange


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
    """Gain of a proportional band in per cent, which must be above 0: 100/PB. Raises OutOfRange, NotANumber.

    Source: ISA-51.1, proportional band.

    >>> gain_of_band(50.0)
    2.0
    """
    positive(proportional_band=proportional_band_percent)
    return 100 / proportional_band_percent


def band_of_gain(gain: float) -> float:
    """Proportional band in per cent of a gain, which must be above 0: 100/Kc. Raises OutOfRange, NotANumber.

    Source: ISA-51.1, proportional band.

    >>> band_of_gain(2.0)
    50.0
    """
    positive(gain=gain)
    return 100 / gain


def integral_time_s(repeats_per_minute: float) -> float:
    """Integral time in seconds of a reset rate in repeats per minute, above 0: 60/rate. Raises OutOfRange, NotANumber.

    Source: ISA-51.1, reset rate.

    >>> integral_time_s(0.1)
    600.0
    """
    positive(repeats_per_minute=repeats_per_minute)
    return 60 / repeats_per_minute


def repeats_per_minute(integral_time_s: float) -> float:
    """Reset rate in repeats per minute of an integral time in seconds, above 0. Raises OutOfRange, NotANumber.

    Source: ISA-51.1, reset rate.

    >>> repeats_per_minute(600.0)
    0.1
    """
    positive(integral_time=integral_time_s)
    return 60 / integral_time_s


def _check(tuning: Tuning) -> None:
    finite(gain=tuning.gain)
    if not math.isinf(tuning.integral_time):
        positive(integral_time=tuning.integral_time)
    not_negative(derivative_time=tuning.derivative_time)


def ideal_to_parallel(tuning: Tuning) -> ParallelTuning:
    """Three gains of an ideal tuning: Kp = Kc, Ki = Kc/Ti, Kd = Kc Td, in the unit of time of Ti and Td.

    Ti must be above 0 (math.inf: no integral action), Td 0 or more. Raises OutOfRange, NotANumber.
    Source: algebra of Kc (1 + 1/(Ti s) + Td s) = Kp + Ki/s + Kd s.

    >>> ideal_to_parallel(Tuning(2, 20, 6))
    ParallelTuning(proportional=2, integral=0.1, derivative=12)
    """
    _check(tuning)
    return ParallelTuning(tuning.gain, tuning.gain / tuning.integral_time, tuning.gain * tuning.derivative_time)


def parallel_to_ideal(gains: ParallelTuning) -> Tuning:
    """Ideal tuning of three gains: Kc = Kp, Ti = Kp/Ki, Td = Kd/Kp; without Ki, no integral action.

    Raises NoEquivalent without a proportional gain, or where one of the others has the opposite sign; NotANumber.
    Source: algebra, as :func:`ideal_to_parallel`.

    >>> parallel_to_ideal(ParallelTuning(2.5, 0.05, 10))
    Tuning(gain=2.5, integral_time=50.0, derivative_time=4.0)
    """
    finite(proportional_gain=gains.proportional, integral_gain=gains.integral, derivative_gain=gains.derivative)
    if gains.proportional == 0:
        raise NoEquivalent("Without a proportional gain there is no ideal form.")
    if gains.integral * gains.proportional < 0 or gains.derivative * gains.proportional < 0:
        raise NoEquivalent("Gains of opposite signs have no ideal form: a time would be negative.")
    integral_time = gains.proportional / gains.integral if gains.integral else math.inf
    return Tuning(gains.proportional, integral_time, gains.derivative / gains.proportional)


def series_to_ideal(tuning: Tuning) -> Tuning:
    """Ideal tuning of a series one: Kc = K(1 + Td/Ti), integral time Ti + Td, derivative time Ti Td/(Ti + Td).

    Ti must be above 0, Td 0 or more, in one unit. Raises OutOfRange, NotANumber.
    Source: algebra of K (1 + 1/(Ti s)) (1 + Td s).

    >>> series_to_ideal(Tuning(2, 40, 20))
    Tuning(gain=3.0, integral_time=60, derivative_time=13.333333333333334)
    """
    _check(tuning)
    if math.isinf(tuning.integral_time):
        return tuning
    whole = tuning.integral_time + tuning.derivative_time
    return Tuning(
        tuning.gain * whole / tuning.integral_time, whole, tuning.integral_time * tuning.derivative_time / whole
    )


def ideal_to_series(tuning: Tuning) -> Tuning:
    """Series tuning of an ideal one, of the two the one with the shorter derivative time.

    Exists only where Ti ≥ 4 Td: else raises NoEquivalent. Raises OutOfRange, NotANumber.
    Source: algebra, as :func:`series_to_ideal`.

    >>> round(ideal_to_series(Tuning(4.8, 12, 5 / 3)).gain, 6)
    4.0
    """
    _check(tuning)
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
    """First order plus dead time: gain × exp(−dead time × s)/(time constant × s + 1).

    Both times must be above 0, in one unit; the gain may be negative, and so will be that of the controller. Raises
    OutOfRange, NotANumber, and CalculationError for a gain of 0.
    """

    gain: float
    time_constant: float
    dead_time: float

    def __post_init__(self) -> None:
        finite(gain=self.gain)
        positive(time_constant=self.time_constant, dead_time=self.dead_time)
        if self.gain == 0:
            raise CalculationError("A process without gain cannot be controlled.")


def ultimate(process: Process) -> tuple[float, float]:
    """Ultimate gain and ultimate period of a process: where its phase passes −180°.

    Source: Nyquist's criterion for first order plus dead time, solved by bisection.

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
    """P, PI or PID (``mode``) from the ultimate gain and the ultimate period, both above 0; ideal form.

    Raises OutOfRange, NotANumber, and CalculationError for another mode.
    Source: Ziegler and Nichols, Trans. ASME 64 (1942) 759–768.

    >>> ziegler_nichols(0.95, 12, "PI")
    Tuning(gain=0.4275, integral_time=10.0, derivative_time=0.0)
    """
    positive(ultimate_gain=ku, ultimate_period=pu)
    return _mode(
        {"P": Tuning(0.5 * ku), "PI": Tuning(0.45 * ku, pu / 1.2), "PID": Tuning(0.6 * ku, pu / 2, pu / 8)}, mode
    )


def ziegler_nichols_reaction_curve(process: Process, mode: str = "PID") -> Tuning:
    """P, PI or PID (``mode``) from a step response; ideal form. Meant for dead times of 0.1 to 1 time constant.

    Raises CalculationError for another mode. Source: Ziegler and Nichols, Trans. ASME 64 (1942) 759–768.

    >>> ziegler_nichols_reaction_curve(Process(4, 7, 3.5), "PID").gain
    0.6
    """
    base = process.time_constant / (process.gain * process.dead_time)
    dead = process.dead_time
    return _mode(
        {"P": Tuning(base), "PI": Tuning(0.9 * base, dead / 0.3), "PID": Tuning(1.2 * base, 2 * dead, 0.5 * dead)}, mode
    )


def tyreus_luyben(ku: float, pu: float, mode: str = "PI") -> Tuning:
    """PI or PID (``mode``), calmer than Ziegler and Nichols, from the same test; ideal form.

    Raises OutOfRange, NotANumber, and CalculationError for another mode.
    Source: Tyreus and Luyben, Ind. Eng. Chem. Res. 31 (1992) 2625–2628.

    >>> tyreus_luyben(1.0, 10.0)
    Tuning(gain=0.31, integral_time=22.0, derivative_time=0.0)
    """
    positive(ultimate_gain=ku, ultimate_period=pu)
    return _mode({"PI": Tuning(0.31 * ku, 2.2 * pu), "PID": Tuning(0.45 * ku, 2.2 * pu, pu / 6.3)}, mode)


def cohen_coon(process: Process, mode: str = "PID") -> Tuning:
    """P, PI or PID (``mode``) for a process with much dead time; ideal form.

    Raises CalculationError for another mode. Source: Cohen and Coon, Trans. ASME 75 (1953) 827–834.

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
    """PI for a chosen time constant of the closed loop, above 0. Raises OutOfRange, NotANumber.

    Source: lambda tuning, after Rivera, Morari and Skogestad, Ind. Eng. Chem. Process Des. Dev. 25 (1986) 252–265.

    >>> lambda_pi(Process(1, 50, 30), 50).gain
    0.625
    """
    positive(closed_loop_time=closed_loop_time)
    gain = process.time_constant / (process.gain * (closed_loop_time + process.dead_time))
    return Tuning(gain, process.time_constant)


def imc_pid(process: Process, closed_loop_time: float) -> Tuning:
    """PID by internal model control for a closed-loop time above 0; ideal form. Raises OutOfRange, NotANumber.

    Source: Rivera, Morari and Skogestad, Ind. Eng. Chem. Process Des. Dev. 25 (1986) 252–265.

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
    """PI by SIMC for a closed-loop time of 0 or more; the dead time is its tight setting.

    Raises OutOfRange, NotANumber. Source: Skogestad, J. Process Control 13 (2003) 291–309.

    >>> simc_pi(Process(4, 7, 3.5), 3.5)
    Tuning(gain=0.25, integral_time=7, derivative_time=0.0)
    """
    not_negative(closed_loop_time=closed_loop_time)
    reach = closed_loop_time + process.dead_time
    return Tuning(process.time_constant / (process.gain * reach), min(process.time_constant, 4 * reach))


def simc_pid_series(process: Process, second_time_constant: float, closed_loop_time: float) -> Tuning:
    """PID by SIMC for a process with a second time constant, 0 or more; series form. Raises OutOfRange, NotANumber.

    Source: Skogestad, J. Process Control 13 (2003) 291–309.

    >>> simc_pid_series(Process(1, 2.0, 0.77), 1.2, 0.77).derivative_time
    1.2
    """
    not_negative(second_time_constant=second_time_constant)
    pi = simc_pi(process, closed_loop_time)
    return Tuning(pi.gain, pi.integral_time, second_time_constant)


def half_rule(
    lags: list[float], order: int, *, delay: float = 0.0, rhp_zeros: list[float] = (), lhp_zeros: list[float] = ()
) -> tuple[tuple[float, ...], float]:
    """Reduce a chain of lags to one or two (``order``) and a dead time; small left-half-plane zeros shorten it.

    Returns the lags kept and the effective dead time, all in one unit. Raises CalculationError for fewer lags than are
    kept, OutOfRange for a negative time or for zeros that outweigh the dead time, NotANumber.
    Source: Skogestad, J. Process Control 13 (2003) 291–309, section 2.

    >>> lags, dead = half_rule([2, 1, .4, .2, .05, .05, .05], 1, rhp_zeros=[.3], lhp_zeros=[.08]); lags, round(dead, 2)
    ((2.5,), 1.47)
    """
    if order not in (1, 2) or len(lags) < order:
        raise CalculationError("The rule keeps one or two of at least as many lags.")
    for time in (*lags, *rhp_zeros, *lhp_zeros, delay):
        not_negative(time_constant=time)
    ordered = sorted(lags, reverse=True)
    kept, rest = ordered[:order], ordered[order:]
    dead_time = delay + sum(rest) + sum(rhp_zeros) - sum(lhp_zeros)
    if rest:
        kept[-1] += rest[0] / 2
        dead_time -= rest[0] / 2
    if dead_time < 0:
        raise OutOfRange(f"The zeros leave a dead time of {dead_time:g}; the rule needs 0 or more.")
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
    Raises CalculationError for another word or sign. Source: common practice.

    >>> action_is_right("direct", "air-to-open", 1), action_is_right("reverse", "air-to-open", 1)
    (False, True)
    """
    if process_sign not in (1, -1):
        raise CalculationError(f"The sign of a process is +1 or −1, not {process_sign}.")
    return _sign(action) * _sign(valve) * process_sign * (-1 if inverted else 1) < 0


def action_needed(valve: str, process_sign: int, inverted: bool = False) -> str:
    """The controller's action, "direct" or "reverse", that makes the sign round the loop negative.

    Words and errors as :func:`action_is_right`. Source: common practice.

    >>> action_needed("air-to-open", 1)
    'reverse'
    """
    return "direct" if action_is_right("direct", valve, process_sign, inverted) else "reverse"


def fail_position(valve: str) -> str:
    """Where a spring-return valve goes when it loses its air: air-to-open closes, air-to-close opens.

    Raises CalculationError for another word. Source: common practice.

    >>> fail_position("air-to-open")
    'closed'
    """
    return "closed" if _sign(valve) > 0 else "open"
