"""Thermocouples: emf and temperature by the ITS-90 reference functions, tolerances, cables and colours.

Temperatures are in °C (ITS-90), emf in mV, against a reference junction at 0 °C unless one is given. The functions of
types B, E, J, K, N, R, S and T are those of NIST Monograph 175 (1993), which IEC 60584-1:2013 gives too (type K only to
1300 °C there). Type C is not in that monograph: its coefficients were read in one public source only and checked for
continuity.
"""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from functools import cache
from importlib import resources

from register.calc.checked import finite
from register.calc.errors import CalculationError, OutOfRange
from register.calc.units import read_table

TYPES = ("B", "C", "E", "J", "K", "N", "R", "S", "T")


@dataclass(frozen=True, slots=True)
class _Piece:
    """A polynomial over a range, its highest power first, and type K's exponential where there is one."""

    low: float
    high: float
    coefficients: tuple[float, ...]
    exponential: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Couple:
    """A letter type: alloys of its legs, where its reference function holds, and that function's pieces."""

    letter: str
    positive_leg: str
    negative_leg: str
    t_min_c: float
    t_max_c: float
    forward: tuple[_Piece, ...]
    inverse: tuple[_Piece, ...]  # published approximations, over emf in mV


@cache
def couple(letter: str) -> Couple:
    """A letter type. Raises CalculationError for a letter that has no reference function here."""
    types = _coefficients()
    if letter not in types:
        raise CalculationError(f"“{letter}” is no thermocouple type. The register knows {', '.join(TYPES)}.")
    return types[letter]


@cache
def _coefficients() -> dict[str, Couple]:
    table = resources.files("register.calc").joinpath("tables", "its90.json")
    return {
        letter: Couple(
            letter,
            one["positive_leg"],
            one["negative_leg"],
            one["t_min_c"],
            one["t_max_c"],
            tuple(
                _Piece(
                    piece["t_min_c"],
                    piece["t_max_c"],
                    tuple(reversed(piece["c"])),
                    tuple(piece["exponential"][name] for name in ("a0", "a1", "a2"))
                    if "exponential" in piece
                    else None,
                )
                for piece in one["forward"]
            ),
            tuple(
                _Piece(piece["mv_min"], piece["mv_max"], tuple(reversed(piece["d"])))
                for piece in one.get("inverse", ())
            ),
        )
        for letter, one in json.loads(table.read_text(encoding="utf-8"))["types"].items()
    }


def _value_and_slope(piece: _Piece, t_c: float) -> tuple[float, float]:
    """emf in mV and its slope in mV/K (Horner)."""
    value = slope = 0.0
    for coefficient in piece.coefficients:
        slope = slope * t_c + value
        value = value * t_c + coefficient
    if piece.exponential is not None:
        a0, a1, a2 = piece.exponential
        bell = a0 * math.exp(a1 * (t_c - a2) ** 2)
        value += bell
        slope += 2 * a1 * (t_c - a2) * bell
    return value, slope


def _piece_at(of: Couple, t_c: float) -> _Piece:
    finite(temperature=t_c)
    if not of.t_min_c <= t_c <= of.t_max_c:
        raise OutOfRange(
            f"Type {of.letter} is defined from {of.t_min_c:g} to {of.t_max_c:g} °C; {t_c:g} °C lies outside."
        )
    return next(piece for piece in of.forward if t_c <= piece.high)


def emf(letter: str, t_c: float, reference_c: float = 0.0) -> float:
    """emf in mV of a couple at ``t_c`` whose terminals are at ``reference_c``.

    Raises OutOfRange, NotANumber. Source: NIST Monograph 175 (1993); IEC 60584-1:2013.

    >>> round(emf("K", 100.0), 3)
    4.096
    >>> round(emf("K", 400.0, 25.0), 3)
    15.397
    """
    of = couple(letter)
    value, _ = _value_and_slope(_piece_at(of, t_c), t_c)
    if reference_c != 0:
        value -= _value_and_slope(_piece_at(of, reference_c), reference_c)[0]
    return value


def seebeck_uv_per_k(letter: str, t_c: float) -> float:
    """Slope of the reference function in µV/K at a temperature. Raises OutOfRange, NotANumber.

    Source: NIST Monograph 175 (1993), derivative of the reference function.

    >>> round(seebeck_uv_per_k("K", 1000.0), 3)
    38.981
    """
    return 1000 * _value_and_slope(_piece_at(couple(letter), t_c), t_c)[1]


def temperature(letter: str, emf_mv: float, reference_c: float = 0.0) -> float:
    """Temperature in °C at which a couple gives ``emf_mv`` with its terminals at ``reference_c``.

    Solves the reference function itself, to well under 1 mK. Type B is not single valued below about 42 °C and is
    solved above that only. Raises OutOfRange, which names the limits in mV, and NotANumber.
    Source: NIST Monograph 175 (1993); IEC 60584-1:2013.

    >>> round(temperature("K", 4.096), 2)
    99.99
    """
    finite(emf=emf_mv)
    of = couple(letter)
    wanted = emf_mv + (emf(letter, reference_c) if reference_c != 0 else 0.0)
    low_c, high_c, low_mv, high_mv = _solvable(letter)
    if not low_mv - _PRINTED_MV <= wanted <= high_mv + _PRINTED_MV:
        at = f" with terminals at {reference_c:g} °C" if reference_c else ""
        shift = wanted - emf_mv
        raise OutOfRange(
            f"Type {letter} gives {low_mv - shift:.3f} to {high_mv - shift:.3f} mV{at}; {emf_mv:g} mV lies outside."
        )
    if wanted <= low_mv or wanted >= high_mv:
        return low_c if wanted <= low_mv else high_c
    return _solve(of, wanted, low_c, high_c)


_PRINTED_MV = 0.0005
"""Half the last place of the printed tables: an end of the range read from them still counts as within."""


@cache
def _solvable(letter: str) -> tuple[float, float, float, float]:
    """Temperatures between which the reference function rises, and its emf there."""
    of = couple(letter)
    low_c = of.t_min_c
    if letter == "B":
        # From the minimum near 21 °C on, the function rises; what it gives up to 42 °C, it gave below 21 °C too.
        low_c = _solve(of, 0.0, 21.1, 100.0)
    return low_c, of.t_max_c, emf(letter, low_c), emf(letter, of.t_max_c)


def _solve(of: Couple, wanted: float, low_c: float, high_c: float) -> float:
    """Newton's method from the published approximation, kept within a bracket that bisection narrows."""
    t_c = _first_guess(of, wanted)
    if not low_c < t_c < high_c:
        t_c = (low_c + high_c) / 2
    for _ in range(100):
        value, slope = _value_and_slope(_piece_at(of, t_c), t_c)
        difference = value - wanted
        if difference > 0:
            high_c = t_c
        else:
            low_c = t_c
        step = difference / slope if slope > 0 else math.inf
        if abs(step) < 1e-7:
            return t_c - step if low_c <= t_c - step <= high_c else t_c
        t_c = t_c - step if low_c < t_c - step < high_c else (low_c + high_c) / 2
    return t_c


def _first_guess(of: Couple, wanted: float) -> float:
    for piece in of.inverse:
        if piece.low <= wanted <= piece.high:
            return _value_and_slope(piece, wanted)[0]
    return math.nan


def temperature_by_polynomial(letter: str, emf_mv: float, span_mv: tuple[float, float] | None = None) -> float:
    """Temperature in °C by the published approximate inverse polynomial, reference junction at 0 °C.

    What instruments that store these polynomials show: off by up to about 0.06 K. ``span_mv`` chooses the sub-range
    where two overlap (types R and S); else the last that holds. Raises OutOfRange, NotANumber.
    Source: NIST Monograph 175 (1993), inverse functions.

    >>> round(temperature_by_polynomial("K", 12.209), 4)
    300.0243
    """
    finite(emf=emf_mv)
    pieces = [
        piece
        for piece in couple(letter).inverse
        if piece.low <= emf_mv <= piece.high
        and (span_mv is None or math.dist(span_mv, (piece.low, piece.high)) < 2 * _PRINTED_MV)
    ]
    if not pieces:
        spans = ", ".join(f"{piece.low:g} to {piece.high:g} mV" for piece in couple(letter).inverse) or "none"
        raise OutOfRange(f"Type {letter} has inverse polynomials for {spans}; {emf_mv:g} mV lies outside.")
    return _value_and_slope(pieces[-1], emf_mv)[0]


def shown_with_wrong_type(sensor: str, input_type: str, t_c: float, reference_c: float = 25.0) -> float:
    """What an input set to one type shows when the couple is of another, compensated at its terminals.

    Raises OutOfRange where the wrong type cannot give such an emf at all.
    Source: law of intermediate temperatures (NIST Monograph 175).

    >>> round(shown_with_wrong_type("K", "J", 500.0, 25.0), 1)
    383.2
    """
    return temperature(input_type, emf(sensor, t_c, reference_c), reference_c)


def shown_with_wrong_cable(letter: str, cable_letter: str | None, t_c: float, head_c: float, panel_c: float) -> float:
    """What the panel shows when the cable between head and panel is of another type's alloys (None: copper).

    Raises OutOfRange. Source: law of intermediate temperatures (NIST Monograph 175).

    >>> round(shown_with_wrong_cable("K", "J", 400.0, 60.0, 25.0), 1)
    409.5
    >>> round(shown_with_wrong_cable("K", None, 400.0, 60.0, 25.0), 1)
    365.9
    """
    along_cable = emf(cable_letter, head_c, panel_c) if cable_letter else 0.0
    return temperature(letter, emf(letter, t_c, head_c) + along_cable, panel_c)


def shown_with_crossed_cable(letter: str, t_c: float, head_c: float, panel_c: float) -> float:
    """What the panel shows when the extension cable is crossed at both ends. Raises OutOfRange.

    Source: law of intermediate temperatures (NIST Monograph 175).

    >>> round(shown_with_crossed_cable("K", 400.0, 60.0, 25.0), 1)
    331.6
    """
    return temperature(letter, emf(letter, t_c, head_c) - emf(letter, head_c, panel_c), panel_c)


# Tolerances, cables, colours


@dataclass(frozen=True, slots=True)
class ClassRange:
    """A tolerance class over a range: the greater of a fixed part and a share of the temperature, in K."""

    fixed_k: float
    proportional: float
    t_min_c: float
    t_max_c: float
    rises_above_c: float | None = None  # platinum class 1: the share counts only from here on

    def tolerance_k(self, t_c: float) -> float:
        if self.rises_above_c is not None:
            return self.fixed_k + self.proportional * max(0.0, t_c - self.rises_above_c)
        return max(self.fixed_k, self.proportional * abs(t_c))


def tolerance_ranges(letter: str, tolerance_class: str, standard: str = "IEC 60584-1") -> tuple[ClassRange, ...]:
    """Where a class is defined for a type; empty where the standard defines none.

    Classes are "1", "2", "3" (IEC 60584-1:2013, table 12) or "standard", "special" (ASTM E230/E230M-12).
    """
    return _tolerances().get((standard, letter, tolerance_class), ())


@cache
def _tolerances() -> dict[tuple[str, str, str], tuple[ClassRange, ...]]:
    made: dict[tuple[str, str, str], tuple[ClassRange, ...]] = {}
    for row in read_table("thermocouple_tolerances.csv"):
        key = (row["standard"], row["type"], row["class"])
        share, _, rest = row["proportional"].partition("*")
        above = float(rest.split("-")[1].split(")")[0]) if rest else None
        limits = (float(row["fixed_degC"]), float(share), float(row["t_min_degC"]), float(row["t_max_degC"]))
        made[key] = (*made.get(key, ()), ClassRange(*limits, above))
    return made


def tolerance_k(letter: str, tolerance_class: str, t_c: float, standard: str = "IEC 60584-1") -> float:
    """Tolerance in K of a couple of a class at a temperature.

    Raises OutOfRange outside the range for which the class is defined, CalculationError where the standard defines no
    such class for the type. Source: IEC 60584-1:2013, table 12; ASTM E230/E230M-12, table 1.

    >>> tolerance_k("K", "1", 1000.0)
    4.0
    """
    ranges = tolerance_ranges(letter, tolerance_class, standard)
    if not ranges:
        raise CalculationError(f"{standard} defines no class {tolerance_class} for type {letter}.")
    finite(temperature=t_c)
    # Where two ranges meet, the wider tolerance is claimed.
    holding = [one.tolerance_k(t_c) for one in ranges if one.t_min_c <= t_c <= one.t_max_c]
    if not holding:
        spans = " and ".join(f"{one.t_min_c:g} to {one.t_max_c:g} °C" for one in ranges)
        raise OutOfRange(f"Class {tolerance_class} of type {letter} holds from {spans}; {t_c:g} °C lies outside.")
    return max(holding)


def useful_range_c(letter: str) -> tuple[float, float]:
    """Range in °C of the widest class 2 tolerance (IEC 60584-1:2013), beyond which a couple is not meant to work."""
    row = next(row for row in read_table("thermocouple_ranges.csv") if row["type"] == letter)
    return float(row["iec_class2_min_degC"]), float(row["iec_class2_max_degC"])


@dataclass(frozen=True, slots=True)
class ExtensionCable:
    """A cable of IEC 60584-3: for which type, and between which temperatures of the cable it may be used."""

    designation: str
    letter: str
    t_min_c: float
    t_max_c: float
    compensating: bool  # other alloys than the couple's


@cache
def extension_cables() -> dict[str, ExtensionCable]:
    """Extension and compensating cables by designation (IEC 60584-3:2007)."""
    return {
        row["designation"]: ExtensionCable(
            row["designation"],
            row["for_type"],
            float(row["cable_temp_min_degC"]),
            float(row["cable_temp_max_degC"]),
            "C" in row["designation"][1:],
        )
        for row in read_table("thermocouple_extension_cables.csv")
    }


@dataclass(frozen=True, slots=True)
class CableColour:
    """Colours of a cable in a colour code; ``current`` is False for codes that were withdrawn."""

    standard: str
    current: bool
    letter: str
    cable: str
    positive: str
    negative: str
    sheath: str


@cache
def cable_colours() -> tuple[CableColour, ...]:
    """Every colour code of the table, IEC 60584-3 first, withdrawn ones marked."""
    return tuple(
        CableColour(
            row["standard"], row["status"].startswith("current"), row["type"], row["cable"], row["positive"],
            row["negative"], row["sheath"],
        )
        for row in read_table("thermocouple_cable_colours.csv")
    )  # fmt: skip


def cable_colour(
    letter: str, standard: str = "IEC 60584-3", *, grade: str = "", intrinsically_safe: bool = False
) -> CableColour:
    """Colours of a type's cable in a code; ``grade`` is "extension" or "thermocouple" where the code has both.

    The old German types L and U stand beside J and T. Raises CalculationError where the table holds none.
    Source: IEC 60584-3, ASTM E230, and the withdrawn national codes (public tables; some from memory).

    >>> cable_colour("K").positive
    'green'
    """
    for colour in cable_colours():
        of_type = letter in re.findall(r"\b[A-Z]\b", colour.letter) and standard in colour.standard
        if of_type and grade in colour.cable and ("safe" in colour.cable) == intrinsically_safe:
            return colour
    raise CalculationError(f"The table holds no colours of type {letter} in {standard}.")
