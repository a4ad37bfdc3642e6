"""Two-wire circuits: conductor resistance, voltage left at the transmitter, how long and how loaded a run may be."""

from __future__ import annotations

import math
from functools import cache

from register.calc.checked import finite, not_negative, positive
from register.calc.errors import CalculationError, OutOfRange
from register.calc.units import read_table

COPPER_PER_K = 0.00393
"""Temperature coefficient of copper from 20 °C, in 1/K."""
DEFAULT_FAULT_MA = 22.5
"""Greatest current assumed of a two-wire transmitter whose data sheet is not at hand (common practice, no source)."""
FEET_PER_METRE = 1 / 0.3048


@cache
def _conductors() -> dict[tuple[str, str, float], float]:
    return {
        (row["class"], row["coating"], float(row["csa_mm2"])): float(row["ohm_per_km"])
        for row in read_table("conductor_resistance.csv")
        if row["standard"] == "IEC 60228"
    }


def conductor_ohm_per_km(csa_mm2: float, conductor_class: str = "2", coating: str = "plain") -> float:
    """Greatest resistance at 20 °C of one copper conductor in Ω/km.

    Classes 1 (solid), 2 (stranded) and 5 (flexible), 0.5 to 4 mm²; ``coating`` is "plain", "metal-coated" or "tinned".
    Raises CalculationError, which names the sizes, for another. Source: IEC 60228:2004, tables 1 to 3.

    >>> conductor_ohm_per_km(1.5, "1")
    12.1
    """
    coating = "metal-coated" if coating == "tinned" else coating
    found = _conductors().get((str(conductor_class), coating, float(csa_mm2)))
    if found is None:
        sizes = ", ".join(
            f"{size:g}" for kind, coat, size in _conductors() if (kind, coat) == (str(conductor_class), coating)
        )
        raise CalculationError(
            f"IEC 60228 gives {sizes or 'no sizes'} mm² for class {conductor_class} {coating}, not {csa_mm2:g}."
        )
    return found


def resistance_at(ohm_at_20_c: float, t_c: float, coefficient_per_k: float = COPPER_PER_K) -> float:
    """Resistance of a copper conductor at a temperature in °C: R20 (1 + 0.00393 (t − 20)), in the unit of R20.

    Raises OutOfRange for a negative resistance and below −200 °C, where the straight line no longer holds; NotANumber.
    Source: IEC 60028:1925, temperature coefficient of annealed copper.

    >>> round(resistance_at(12.1, 70.0), 4)
    14.4776
    """
    not_negative(resistance=ohm_at_20_c)
    finite(temperature=t_c, coefficient=coefficient_per_k)
    if t_c < -200:
        raise OutOfRange(f"The temperature must be at least −200 °C, not {t_c:g} °C.")
    return ohm_at_20_c * (1 + coefficient_per_k * (t_c - 20))


def correction_to_20_c(t_c: float) -> float:
    """Factor that brings a resistance measured at a temperature in °C to 20 °C: 250/(230 + t).

    Raises OutOfRange at −230 °C and below, NotANumber. Source: IEC 60228:2004, annex A.

    >>> round(correction_to_20_c(25.0), 2)
    0.98
    """
    finite(temperature=t_c)
    if t_c <= -230:
        raise OutOfRange(f"The temperature must be above −230 °C, not {t_c:g} °C.")
    return 250 / (230 + t_c)


def awg_number(size: int | str) -> int:
    """Gauge number from 4/0 to 56: 1/0 is 0, 2/0 or 00 is −1 and so on. Raises OutOfRange, CalculationError.

    Source: ASTM B258.

    >>> awg_number("2/0"), awg_number("00"), awg_number(16)
    (-1, -1, 16)
    """
    text = str(size).strip()
    if text.endswith("/0") and text[:-2].isdigit():
        return 1 - int(text[:-2])
    if text and set(text) == {"0"}:
        return 1 - len(text)
    try:
        number = int(text)
    except ValueError:
        raise CalculationError(f"“{size}” is no wire gauge.") from None
    if not -3 <= number <= 56:
        raise OutOfRange(f"Wire gauges run from 4/0 to 56, not {size}.")
    return number


def awg_diameter_mm(size: int | str) -> float:
    """Diameter of a solid wire in mm: 0.127 × 92^((36 − n)/39). Gauges and errors as :func:`awg_number`.

    Source: ASTM B258.

    >>> round(awg_diameter_mm(36), 3)
    0.127
    """
    return 0.127 * 92 ** ((36 - awg_number(size)) / 39)


def awg_area_mm2(size: int | str) -> float:
    """Cross-section of a solid wire in mm². Gauges and errors as :func:`awg_number`. Source: ASTM B258.

    >>> round(awg_area_mm2(16), 4)
    1.3087
    """
    return math.pi / 4 * awg_diameter_mm(size) ** 2


def awg_ohm_per_km(size: int | str) -> float:
    """Resistance at 20 °C of a solid copper wire of 100 % IACS (1/58 Ω mm²/m) in Ω/km.

    Gauges and errors as :func:`awg_number`. Source: ASTM B258; IEC 60028:1925.

    >>> round(awg_ohm_per_km(14), 2)
    8.29
    """
    return 1000 / 58 / awg_area_mm2(size)


def run_ohm(cable_ohm_per_km: float, length_m: float) -> float:
    """Resistance in Ω of a two-core run there and back, from one core's Ω/km and the length of the run in m.

    Raises OutOfRange for a negative one, NotANumber. Source: Ohm's law.

    >>> round(run_ohm(36.0, 1000.0), 6)
    72.0
    """
    not_negative(cable_resistance=cable_ohm_per_km, length=length_m)
    return 2 * cable_ohm_per_km * length_m / 1000


def transmitter_v(supply_v: float, series_ohm: float, current_ma: float) -> float:
    """Voltage left at a two-wire transmitter when a current in mA flows through all that is in series with it.

    A negative result says that this current cannot flow. Nothing given may be negative: raises OutOfRange, NotANumber.
    Take 20 mA and the transmitter's own failure current, or :data:`DEFAULT_FAULT_MA`. Source: Ohm's law.

    >>> round(transmitter_v(24.0, 250 + run_ohm(12.1, 500), 20.0), 3)
    18.758
    """
    not_negative(supply=supply_v, series_resistance=series_ohm, current=current_ma)
    return supply_v - series_ohm * current_ma / 1000


def leaves_enough(terminal_v: float, min_terminal_v: float) -> bool:
    """Whether a transmitter has its least voltage; equality is enough. Raises NotANumber. Source: common practice.

    >>> leaves_enough(transmitter_v(24.0, 600.0, 20.0), 12.0)
    True
    """
    finite(voltage=terminal_v, least_voltage=min_terminal_v)
    return terminal_v >= min_terminal_v - 1e-9


def greatest_burden_ohm(supply_v: float, min_terminal_v: float, current_ma: float) -> float:
    """Greatest series resistance in Ω with which a transmitter still has its least voltage at a current in mA.

    Raises OutOfRange where the supply is below the transmitter's least voltage or the current not above 0, NotANumber.
    Source: Ohm's law.

    >>> round(greatest_burden_ohm(24.0, 12.0, 20.0), 6)
    600.0
    """
    positive(current=current_ma)
    not_negative(supply=supply_v, least_voltage=min_terminal_v)
    if supply_v < min_terminal_v:
        raise OutOfRange(f"The supply of {supply_v:g} V is below the {min_terminal_v:g} V that the transmitter needs.")
    return (supply_v - min_terminal_v) * 1000 / current_ma


def greatest_length_m(greatest_ohm: float, burden_ohm: float, cable_ohm_per_km: float) -> float:
    """Longest two-core run in m, given the greatest series resistance and what else is in the circuit in Ω.

    ``cable_ohm_per_km`` is of one core and above 0; the result is 0 where nothing is left for the cable. Raises
    OutOfRange, NotANumber. Source: Ohm's law.

    >>> round(greatest_length_m(600.0, 250.0, 12.1), 1)
    14462.8
    """
    positive(cable_resistance=cable_ohm_per_km)
    not_negative(greatest_resistance=greatest_ohm, burden=burden_ohm)
    return max(0.0, greatest_ohm - burden_ohm) / (2 * cable_ohm_per_km) * 1000


def supply_load_ma(*currents_ma: float) -> float:
    """Current in mA that a supply must give to the circuits on it, each at its greatest.

    Raises OutOfRange for a negative one, NotANumber. Source: Kirchhoff's current law.

    >>> supply_load_ma(22.5, 22.5)
    45.0
    """
    not_negative(**{f"current_{place}": current for place, current in enumerate(currents_ma, start=1)})
    return sum(currents_ma)


def drives(max_load_ohm: float, *receivers_ohm: float) -> bool:
    """Whether a current output of a greatest load can drive all that is in series on it: receivers, barriers, cable.

    All in Ω; equality is allowed. Raises OutOfRange, NotANumber. Source: common practice.

    >>> drives(600.0, 400.0, 280.0, 24.0), drives(600.0, 400.0, 24.0)
    (False, True)
    """
    positive(greatest_load=max_load_ohm)
    not_negative(**{f"receiver_{place}": ohm for place, ohm in enumerate(receivers_ohm, start=1)})
    return sum(receivers_ohm) <= max_load_ohm


def carries_digital_signal(loop_ohm: float, min_ohm: float = 230.0, max_ohm: float = 1100.0) -> bool:
    """Whether the resistance of a loop in Ω lets a superimposed digital signal be read.

    Raises OutOfRange for a negative one, NotANumber. Source: HART practice, 230 to 600 Ω, up to 1100 Ω quoted.

    >>> carries_digital_signal(50.0)
    False
    """
    not_negative(loop_resistance=loop_ohm)
    return min_ohm <= loop_ohm <= max_ohm
