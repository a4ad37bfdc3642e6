"""The cables from which a calculator lets people choose."""

from __future__ import annotations

from register.calc.errors import CalculationError
from register.calc.loop_power import awg_ohm_per_km
from register.calc.loop_power import conductor_ohm_per_km as iec_ohm_per_km

SIZES_MM2 = (0.5, 0.75, 1.0, 1.5, 2.5, 4)
OTHER = "other"

CONDUCTORS = [
    ("IEC 60228 class 2, stranded", [(f"iec-2-{size:g}", f"{size:g} mm²") for size in SIZES_MM2]),
    ("IEC 60228 class 5, flexible", [(f"iec-5-{size:g}", f"{size:g} mm² flexible") for size in SIZES_MM2]),
    ("AWG, solid", [(f"awg-{size}", f"AWG {size}") for size in range(14, 25)]),
    ("Another", [(OTHER, "as given beside")]),
]


def conductor_ohm_per_km(choice: str, own_ohm_per_km: float | None) -> float:
    """Resistance at 20 °C of one core of a choice; the given one where another cable was chosen."""
    if choice == OTHER:
        if own_ohm_per_km is None:
            raise CalculationError("Give the other cable's resistance in Ω/km, or choose a cable.")
        return own_ohm_per_km
    standard, _, size = choice.partition("-")
    if standard == "awg":
        return awg_ohm_per_km(size)
    conductor_class, _, csa_mm2 = size.partition("-")
    return iec_ohm_per_km(float(csa_mm2), conductor_class)
