"""Intrinsically safe circuits: the comparisons of IEC 60079-14 and -25. The certificate and a competent person decide.

Volt, milliampere, milliwatt, nanofarad, millihenry; cables in pF/m and µH/m.
"""

from __future__ import annotations

from dataclasses import dataclass

from register.calc.checked import not_negative, positive
from register.calc.errors import CalculationError, OutOfRange
from register.calc.units import read_table

CAUTION = "The certificate and a competent person decide; this comparison advises only."
DEFAULT_CAPACITANCE_PF_PER_M = 200.0
DEFAULT_INDUCTANCE_UH_PER_M = 1.0
"""Cable data where none are known (IEC 60079-14, from memory)."""


@dataclass(frozen=True, slots=True)
class Source:
    """What an associated apparatus can give, and what may hang on it."""

    uo_v: float
    io_ma: float
    po_mw: float
    co_nf: float
    lo_mh: float


@dataclass(frozen=True, slots=True)
class Device:
    """What an apparatus in the hazardous area may be given, and what it stores."""

    ui_v: float
    ii_ma: float
    pi_mw: float
    ci_nf: float
    li_mh: float


@dataclass(frozen=True, slots=True)
class CableRun:
    """A cable and its length."""

    capacitance_pf_per_m: float
    inductance_uh_per_m: float
    length_m: float

    @property
    def capacitance_nf(self) -> float:
        return self.capacitance_pf_per_m * self.length_m / 1000

    @property
    def inductance_mh(self) -> float:
        return self.inductance_uh_per_m * self.length_m / 1000


@dataclass(frozen=True, slots=True)
class Comparison:
    """What fails: letters of U, I, P, C, L in that order; none: the comparison passes."""

    fails: tuple[str, ...]
    capacitance_nf: float
    inductance_mh: float
    co_nf: float
    lo_mh: float
    caution: str = CAUTION

    @property
    def passes(self) -> bool:
        return not self.fails


def both_stores_large(source: Source, device: Device) -> bool:
    """Whether Ci and Li of the devices both exceed 1 % of Co and Lo, so that both allowances are halved.

    The cable does not count. Source: IEC 60079-14 and -25 (from memory).

    >>> both_stores_large(Source(28, 93, 650, 83, 4.2), Device(30, 100, 700, 5, 0.1))
    True
    """
    return device.ci_nf > 0.01 * source.co_nf and device.li_mh > 0.01 * source.lo_mh


def compare(
    source: Source, device: Device, cable: CableRun, *, halve: bool = True, group: str | None = None
) -> Comparison:
    """Compare entity parameters: Uo ≤ Ui, Io ≤ Ii, Po ≤ Pi, Ci + Cc ≤ Co, Li + Lc ≤ Lo; equality is allowed.

    ``halve`` applies the reduction for large lumped C and L together, which leaves at most 600 nF in gas group IIC and
    1 µF in any other. Nothing may be negative: raises OutOfRange, NotANumber. The result carries its caution.
    Source: IEC 60079-14, IEC 60079-25 (the reduction from memory).

    >>> compare(Source(28, 93, 650, 83, 4.2), Device(26, 100, 600, 5, 0.01), CableRun(110, 0.7, 100)).fails
    ('U', 'P')
    """
    for of in (source, device, cable):
        not_negative(**{name: getattr(of, name) for name in of.__dataclass_fields__})
    capacitance, inductance = device.ci_nf + cable.capacitance_nf, device.li_mh + cable.inductance_mh
    co, lo = source.co_nf, source.lo_mh
    if halve and both_stores_large(source, device):
        co, lo = min(co / 2, 600.0 if group == "IIC" else 1000.0), lo / 2
    hair = 1 + 1e-9  # equality is allowed, and sums of typed decimals are not exact in binary
    failing = (
        ("U", source.uo_v > device.ui_v * hair),
        ("I", source.io_ma > device.ii_ma * hair),
        ("P", source.po_mw > device.pi_mw * hair),
        ("C", capacitance > co * hair),
        ("L", inductance > lo * hair),
    )
    return Comparison(tuple(letter for letter, fails in failing if fails), capacitance, inductance, co, lo)


def matched_power_mw(uo_v: float, io_ma: float) -> float:
    """Greatest power in mW of a source with a linear characteristic, of Uo in V and Io in mA: Uo Io / 4.

    Raises OutOfRange for a negative one, NotANumber. Source: matched load of a resistive source.

    >>> matched_power_mw(10.0, 200.0)
    500.0
    """
    not_negative(uo=uo_v, io=io_ma)
    return uo_v * io_ma / 4


def greatest_cable_m(
    co_nf: float, ci_nf: float, lo_mh: float, li_mh: float, capacitance_pf_per_m: float, inductance_uh_per_m: float
) -> float:
    """Longest cable in m that capacitance and inductance allow; 0 where the device alone uses the allowance up.

    nF, mH, pF/m and µH/m; a cable's figure of 0 sets no limit. Raises OutOfRange for a negative one or two of 0,
    NotANumber. Source: IEC 60079-14. The certificate and a competent person decide.

    >>> round(greatest_cable_m(3600, 20, 0.15, 0, 200, 1.0), 6)
    150.0
    """
    not_negative(cable_capacitance=capacitance_pf_per_m, cable_inductance=inductance_uh_per_m)
    not_negative(co=co_nf, ci=ci_nf, lo=lo_mh, li=li_mh)
    left = (((co_nf - ci_nf) * 1000, capacitance_pf_per_m), ((lo_mh - li_mh) * 1000, inductance_uh_per_m))
    lengths = [store / per_metre for store, per_metre in left if per_metre]
    if not lengths:
        raise OutOfRange("The cable's capacitance or its inductance must be above 0.")
    return max(0.0, min(lengths))


_GROUPS = ("IIA", "IIB", "IIC")


def group_suits(apparatus_group: str, area_group: str) -> bool:
    """Whether an apparatus group is at least as severe as the gas's: IIC > IIB > IIA. "II" suits no gas by itself.

    Raises CalculationError for another word. Source: IEC 60079-14. The certificate and a competent person decide.

    >>> group_suits("IIB", "IIC")
    False
    """
    for group in (apparatus_group, area_group):
        if group not in _GROUPS:
            raise CalculationError(f"“{group}” is no gas group: {', '.join(_GROUPS)}.")
    return _GROUPS.index(apparatus_group) >= _GROUPS.index(area_group)


TEMPERATURE_CLASSES_C = {row["class"]: float(row["max_surface_degC"]) for row in read_table("temperature_classes.csv")}
"""Greatest surface temperature of each class. Source: IEC 60079-0."""


def class_limit_c(temperature_class: str) -> float:
    """Greatest surface temperature in °C of a class, T1 to T6. Raises CalculationError for another word.

    Source: IEC 60079-0, temperature classes of group II.

    >>> class_limit_c("T4")
    135.0
    """
    if temperature_class not in TEMPERATURE_CLASSES_C:
        raise CalculationError(f"“{temperature_class}” is no temperature class: {', '.join(TEMPERATURE_CLASSES_C)}.")
    return TEMPERATURE_CLASSES_C[temperature_class]


def class_suits(temperature_class: str, ignition_c: float) -> bool:
    """Whether a class stays strictly below the ignition temperature of a gas in °C, which must be above 0.

    A class holds up to the ambient temperature on the label, 40 °C if none is given. Raises OutOfRange, NotANumber,
    CalculationError for no class. Source: IEC 60079-14. The certificate and a competent person decide.

    >>> class_suits("T2", 240.0), class_suits("T3", 240.0)
    (False, True)
    """
    positive(ignition_temperature=ignition_c)
    return class_limit_c(temperature_class) < ignition_c


_LEVELS = {row["zone"]: row for row in read_table("zones_and_protection.csv")}


def protections_for(zone: str) -> tuple[str, ...]:
    """Types of protection that a zone allows: levels of intrinsic safety first. Raises CalculationError.

    Source: IEC 60079-14 (from memory). Other rules of the site may be stricter.

    >>> protections_for("0")
    ('ia', 'ma')
    """
    if zone not in _LEVELS:
        raise CalculationError(f"“{zone}” is no zone: {', '.join(_LEVELS)}.")
    row = _LEVELS[zone]
    return tuple(word.strip() for word in f"{row['intrinsic_safety_level']}, {row['others_allowed']}".split(","))


def level_suits(level: str, zone: str) -> bool:
    """Whether a level of intrinsic safety, "ia", "ib" or "ic", may be used in a zone: "0", "1" or "2".

    Raises CalculationError for another word. Source: IEC 60079-14 (from memory). The certificate and a competent person
    decide.

    >>> level_suits("ib", "0"), level_suits("ib", "1")
    (False, True)
    """
    if level not in ("ia", "ib", "ic"):
        raise CalculationError(f"“{level}” is no level of intrinsic safety: ia, ib, ic.")
    return level in protections_for(zone)


SIMPLE_APPARATUS = {"voltage_v": 1.5, "current_ma": 100.0, "power_mw": 25.0}
"""What an apparatus may give at most to count as simple (IEC 60079-11, from memory)."""
