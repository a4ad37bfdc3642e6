"""Panel fronts and their cut-outs; heat in a panel."""

from __future__ import annotations

from functools import cache

from register.calc.checked import finite, not_negative, positive
from register.calc.errors import CalculationError
from register.calc.units import read_table

SHEET_STEEL_W_PER_M2_K = 5.5
"""Heat that a painted sheet-steel wall gives off (common practice, from memory)."""


@cache
def _sides() -> dict[float, tuple[float, float]]:
    return {
        float(row["front_side_mm"]): (float(row["cutout_side_mm"]), float(row["plus_tolerance_mm"]))
        for row in read_table("panel_cutouts.csv")
    }


def _side(front_mm: float) -> tuple[float, float]:
    if float(front_mm) not in _sides():
        sides = ", ".join(f"{side:g}" for side in _sides())
        raise CalculationError(f"IEC 61554 gives fronts with sides of {sides} mm, not {front_mm:g} mm.")
    return _sides()[float(front_mm)]


def cutout_mm(front_width_mm: float, front_height_mm: float) -> tuple[float, float]:
    """Width and height in mm of the panel hole for a front in mm. Raises CalculationError, which names the sides.

    Source: IEC 61554:1999 (from memory).

    >>> cutout_mm(48, 96)
    (45.0, 92.0)
    """
    return _side(front_width_mm)[0], _side(front_height_mm)[0]


def cutout_tolerance_mm(side_mm: float) -> float:
    """By how much one side of the hole may be larger, in mm; it may not be smaller.

    ``side_mm`` is a side of the front or the nominal side of its hole; no size is both. Raises CalculationError.
    Source: IEC 61554:1999 (from memory).

    >>> cutout_tolerance_mm(96), cutout_tolerance_mm(92)
    (0.8, 0.8)
    """
    return next((plus for hole, plus in _sides().values() if hole == side_mm), None) or _side(side_mm)[1]


def fits_cutout(front_width_mm: float, front_height_mm: float, hole_width_mm: float, hole_height_mm: float) -> bool:
    """Whether a hole takes a front: width and height in mm, the right way round, within the plus tolerance.

    Raises CalculationError for a front that the standard does not give. Source: IEC 61554:1999 (from memory).

    >>> fits_cutout(96, 96, 92.4, 92.5), fits_cutout(96, 96, 96, 96), fits_cutout(48, 96, 92, 45)
    (True, False, False)
    """
    hair = 1e-9
    return all(
        _side(front)[0] - hair <= hole <= sum(_side(front)) + hair
        for front, hole in ((front_width_mm, hole_width_mm), (front_height_mm, hole_height_mm))
    )


def inside_temperature_c(
    heat_w: float, wall_m2: float, outside_c: float, wall_w_per_m2_k: float = SHEET_STEEL_W_PER_M2_K
) -> float:
    """Mean temperature in °C inside a closed panel: heat in W through walls in m², 5.5 W/(m² K) for sheet steel.

    The hottest place is warmer. Raises OutOfRange, NotANumber. Source: common practice, the figure from memory.

    >>> round(inside_temperature_c(160.0, 1.6, 40.0), 1)
    58.2
    """
    positive(wall_area=wall_m2, heat_transfer=wall_w_per_m2_k)
    not_negative(heat=heat_w)
    finite(outside_temperature=outside_c)
    return outside_c + heat_w / (wall_w_per_m2_k * wall_m2)
