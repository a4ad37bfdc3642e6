"""Platinum resistance thermometers: resistance and temperature, tolerance classes, lead errors, self-heating.

Temperatures in °C (ITS-90), resistances in ohm.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache

from register.calc.checked import finite, positive
from register.calc.errors import CalculationError, OutOfRange
from register.calc.units import read_table


@dataclass(frozen=True, slots=True)
class PlatinumCurve:
    """R(t) = R0 (1 + A t + B t² + C (t − 100) t³), with C only below 0 °C (Callendar and Van Dusen)."""

    name: str
    a: float
    b: float
    c: float
    t_min_c: float
    t_max_c: float

    @property
    def alpha(self) -> float:
        """Mean coefficient from 0 to 100 °C in 1/K."""
        return self.a + 100 * self.b

    def ratio(self, t_c: float) -> float:
        """R(t)/R0 without a check of the limits."""
        cubic = self.c * (t_c - 100) * t_c**3 if t_c < 0 else 0.0
        return 1 + self.a * t_c + self.b * t_c**2 + cubic

    def ratio_slope(self, t_c: float) -> float:
        """dR/dt over R0 in 1/K."""
        cubic = self.c * (4 * t_c**3 - 300 * t_c**2) if t_c < 0 else 0.0
        return self.a + 2 * self.b * t_c + cubic


@cache
def curves() -> dict[str, PlatinumCurve]:
    """The platinum curves in use, by name: IEC 60751 and the older ones."""
    return {
        row["curve"]: PlatinumCurve(
            row["curve"],
            float(row["A"]),
            float(row["B"]),
            float(row["C"] or 0),
            float(row["t_min_degC"]),
            float(row["t_max_degC"]),
        )
        for row in read_table("rtd_curves.csv")
    }


IEC60751 = curves()["IEC60751"]


def curve(name: str) -> PlatinumCurve:
    """A curve by name. Raises CalculationError."""
    if name not in curves():
        raise CalculationError(f"“{name}” is no platinum curve that the register knows: {', '.join(curves())}.")
    return curves()[name]


@dataclass(frozen=True, slots=True)
class Element:
    """A platinum element: its resistance at 0 °C and its curve."""

    r0_ohm: float
    curve: PlatinumCurve


def element(signal_key: str) -> Element:
    """The element of a signal: "pt100", "pt1000", "pt100-3916" …. Raises CalculationError for any other signal.

    Source: IEC 60751:2008, and the table of older curves.

    >>> element("pt1000").r0_ohm
    1000.0
    """
    parts = re.fullmatch(r"pt(\d+)(?:-(\d{4}))?", signal_key)
    named = "IEC60751" if parts is None or parts[2] is None else parts[2]
    found = [one for one in curves().values() if one.name.split("_")[-1] == named]
    if parts is None or not found:
        raise CalculationError(f"“{signal_key}” is no platinum element.")
    return Element(float(parts[1]), found[0])


def resistance(t_c: float, r0_ohm: float = 100.0, curve: PlatinumCurve = IEC60751) -> float:
    """Resistance in ohm at a temperature. Raises OutOfRange, which names the limits, and NotANumber.

    Source: IEC 60751:2008, clause 4.

    >>> round(resistance(100.0), 4)
    138.5055
    """
    finite(temperature=t_c)
    positive(resistance_at_0_degrees=r0_ohm)
    if not curve.t_min_c <= t_c <= curve.t_max_c:
        raise OutOfRange(
            f"Curve {curve.name} holds from {curve.t_min_c:g} to {curve.t_max_c:g} °C; {t_c:g} °C lies outside."
        )
    return r0_ohm * curve.ratio(t_c)


def temperature(resistance_ohm: float, r0_ohm: float = 100.0, curve: PlatinumCurve = IEC60751) -> float:
    """Temperature in °C of an element with a resistance: solves the curve itself, to under 1 µK.

    Raises OutOfRange, which names the limits in ohm, and NotANumber. Source: IEC 60751:2008, clause 4.

    >>> round(temperature(138.5055), 4)
    100.0
    """
    finite(resistance=resistance_ohm)
    low, high = resistance(curve.t_min_c, r0_ohm, curve), resistance(curve.t_max_c, r0_ohm, curve)
    printed = r0_ohm * 5e-5  # tables give a Pt100 to 0.01 Ω
    if not low - printed <= resistance_ohm <= high + printed:
        raise OutOfRange(
            f"An element of {r0_ohm:g} Ω on curve {curve.name} has {low:.2f} to {high:.2f} Ω; "
            f"{resistance_ohm:g} Ω lies outside."
        )
    wanted = min(max(resistance_ohm, low), high) / r0_ohm
    discriminant = curve.a**2 - 4 * curve.b * (1 - wanted)
    t_c = (math.sqrt(max(discriminant, 0.0)) - curve.a) / (2 * curve.b)
    if wanted < 1:
        for _ in range(20):
            step = (curve.ratio(t_c) - wanted) / curve.ratio_slope(t_c)
            t_c -= step
            if abs(step) < 1e-9:
                break
    return t_c


def sensitivity_ohm_per_k(t_c: float, r0_ohm: float = 100.0, curve: PlatinumCurve = IEC60751) -> float:
    """Slope of the curve in ohm per K. Raises OutOfRange, NotANumber.

    Source: IEC 60751:2008, 4.2, its derivative.

    >>> sensitivity_ohm_per_k(0.0)
    0.39083
    """
    resistance(t_c, r0_ohm, curve)
    return r0_ohm * curve.ratio_slope(t_c)


def shown_with_wrong_curve(t_c: float, sensor: Element, input_element: Element) -> float:
    """What an input made for one element shows of another at a temperature. Raises OutOfRange (R0 differs: pegged).

    Source: IEC 60751:2008, 4.2, and the table of older curves.

    >>> round(shown_with_wrong_curve(250.0, element("pt100-3916"), element("pt100")), 2)
    254.37
    """
    return temperature(resistance(t_c, sensor.r0_ohm, sensor.curve), input_element.r0_ohm, input_element.curve)


def lead_error_k(t_c: float, added_ohm: float, r0_ohm: float = 100.0, curve: PlatinumCurve = IEC60751) -> float:
    """By how many K an input reads high (low, if negative) when a resistance is added to the element's.

    Two wires: both leads. Three wires: what the two cores of the compensating pair differ by. Four: nothing.
    Raises OutOfRange, NotANumber.
    Source: IEC 60751:2008, 4.2; Ohm's law.

    >>> round(lead_error_k(100.0, 4.0), 3)
    10.563
    """
    finite(added_resistance=added_ohm)
    return temperature(resistance(t_c, r0_ohm, curve) + added_ohm, r0_ohm, curve) - t_c


def self_heating_k(current_ma: float, resistance_ohm: float, dissipation_mw_per_k: float) -> float:
    """By how many K the measuring current heats an element whose dissipation in its medium is known.

    Raises OutOfRange where the dissipation is not above 0. Source: Joule heat, P = I²R.

    >>> self_heating_k(1.0, 100.0, 4.0)
    0.025
    """
    finite(current=current_ma, resistance=resistance_ohm)
    positive(dissipation=dissipation_mw_per_k)
    return current_ma**2 * resistance_ohm / 1000 / dissipation_mw_per_k


@dataclass(frozen=True, slots=True)
class ToleranceClass:
    """Tolerance a + b|t| in K within a range in °C; outside it the class may not be claimed."""

    a_k: float
    b: float
    t_min_c: float
    t_max_c: float


def tolerance_class(name: str, construction: str = "wire wound", device: str = "thermometer") -> ToleranceClass:
    """A class by name: "AA", "A", "B", "C" of a thermometer; "W 0.1" … "F 0.6" of a resistor.

    Raises CalculationError where IEC 60751:2008, 5.1, defines none.
    """
    found = _classes().get((device, name.replace(" ", ""), construction.replace("_", " ")))
    if found is None:
        raise CalculationError(f"IEC 60751 defines no class {name} for a {construction} {device}.")
    return found


@cache
def _classes() -> dict[tuple[str, str, str], ToleranceClass]:
    return {
        (row["device"], row["class"].replace(" ", ""), row["construction"]): ToleranceClass(
            float(row["a_degC"]), float(row["b"]), float(row["t_min_degC"]), float(row["t_max_degC"])
        )
        for row in read_table("rtd_tolerance_classes.csv")
    }


def tolerance_k(name: str, t_c: float, construction: str = "wire wound", device: str = "thermometer") -> float:
    """Tolerance in K of a class at a temperature. Raises OutOfRange outside its range, CalculationError, NotANumber.

    Source: IEC 60751:2008, 5.1.

    >>> tolerance_k("B", 200.0)
    1.3
    """
    finite(temperature=t_c)
    of = tolerance_class(name, construction, device)
    if not of.t_min_c <= t_c <= of.t_max_c:
        raise OutOfRange(
            f"Class {name} ({construction}) holds from {of.t_min_c:g} to {of.t_max_c:g} °C; {t_c:g} °C lies outside."
        )
    return of.a_k + of.b * abs(t_c)


def wire_colours(wires: int, which_element: int = 1) -> tuple[str, ...]:
    """Colours of the connecting wires of the first or second element. Source: IEC 60751:2008, 5.4.

    Raises CalculationError for other numbers of wires.
    """
    for row in read_table("rtd_wire_colours.csv"):
        if int(row["wires"]) == wires and int(row["element"]) == which_element:
            return tuple(colour.strip() for colour in row["colours"].split(";"))
    raise CalculationError(f"IEC 60751 marks 2, 3 or 4 wires of element 1 or 2, not {wires} of {which_element}.")
