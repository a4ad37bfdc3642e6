"""Thermocouples and platinum thermometers: reading, signal, leads."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from register.calc import loop_power, rtd, signals, thermocouples
from register.calc.errors import CalculationError, OutOfRange
from register.calc.signals import SIGNALS, Signal
from register.web.calculators.base import Answers, Calculator, Number, Table, Verdict, fixed, significant
from register.web.calculators.conductors import CONDUCTORS, conductor_ohm_per_km

COUPLES = [one for one in SIGNALS.values() if one.kind == "thermocouple"]
ELEMENTS = [one for one in SIGNALS.values() if one.kind == "resistance thermometer"]


def labelled(of: list[Signal]) -> list[tuple[str, str]]:
    return [(one.key, one.label) for one in of]


def electrical(sensor: str, t_c: float, reference_c: float) -> float:
    """mV of a couple between its terminals, Ω of an element."""
    if sensor.startswith("tc-"):
        return thermocouples.emf(sensor[3:], t_c, reference_c)
    element = rtd.element(sensor)
    return rtd.resistance(t_c, element.r0_ohm, element.curve)


def temperature(sensor: str, measured: float, reference_c: float) -> float:
    """The inverse of :func:`electrical`."""
    if sensor.startswith("tc-"):
        return thermocouples.temperature(sensor[3:], measured, reference_c)
    element = rtd.element(sensor)
    return rtd.temperature(measured, element.r0_ohm, element.curve)


class SensorCalculator(Calculator):
    slug = "sensor"
    title = _("Temperature sensor")
    purpose = "A millivolt, an ohm, a milliampere or a temperature: type one and read the others."
    source = "NIST Monograph 175 and IEC 60584-1 (thermocouples), IEC 60751 (platinum), IEC 60381-1 (4–20 mA)"
    below = ("reference_c", "low_c", "high_c")
    template_name_of_page = "calculators/home.html"

    value = Number("100", label=_("Known value"), signed=True)
    known = forms.ChoiceField(
        initial="CEL",
        label=_("What it is"),
        choices=[("CEL", "°C"), ("FAH", "°F"), ("mV", "mV"), ("ohm", "Ω"), ("mA", "mA")],
    )
    sensor = forms.ChoiceField(
        initial="tc-K", choices=[("Thermocouple", labelled(COUPLES)), ("Platinum thermometer", labelled(ELEMENTS))]
    )
    reference_c = Number(
        "20", "°C", signed=True, label=_("Terminals"), help_text=_("Temperature where the couple's own alloys end.")
    )
    low_c = Number("0", "°C", signed=True, label=_("Transmitter sends 4 mA at"))
    high_c = Number("400", "°C", signed=True, label=_("Transmitter sends 20 mA at"))

    def calculate(self, value, known, sensor, reference_c, low_c, high_c) -> Answers:
        couple = sensor.startswith("tc-")
        if known == ("ohm" if couple else "mV"):
            gives = "mV, not Ω" if couple else "Ω, not mV"
            raise CalculationError(f"A sensor of {SIGNALS[sensor].label} gives {gives}: choose another sensor.")
        span = (low_c, high_c)
        t_c = {
            "CEL": lambda: value,
            "FAH": lambda: (value - 32) / 1.8,
            "mV": lambda: temperature(sensor, value, reference_c),
            "ohm": lambda: temperature(sensor, value, reference_c),
            "mA": lambda: signals.scale(value, (4, 20), span),
        }[known]()
        signal = electrical(sensor, t_c, reference_c)
        current_ma = signals.scale(t_c, span, (4, 20))
        unit = "mV" if couple else "Ω"
        answers = Answers()
        answers.facts = [
            ("Temperature", f"{fixed(t_c, 2, '°C')} = {fixed(t_c * 1.8 + 32, 2, '°F')}"),
            *(
                [
                    (f"Between terminals at {significant(reference_c, 4, '°C')}", fixed(signal, 3, unit)),
                    ("As tables have it, terminals at 0 °C", fixed(electrical(sensor, t_c, 0.0), 3, unit)),
                ]
                if couple
                else [("Resistance", fixed(signal, 2 if signal < 1000 else 1, unit))]
            ),
            ("Transmitter", f"{fixed(current_ma, 3, 'mA')}, {fixed(signals.scale(t_c, span, (0, 100)), 2, '%')}"),
            ("Sensitivity", sensitivity(sensor, t_c)),
            ("Tolerance", tolerances(sensor, t_c)),
        ]
        if not 4 <= round(current_ma, 6) <= 20:
            state = signals.ne43_state(current_ma)
            answers.verdicts.append(
                Verdict(
                    "warning", f"Outside the transmitter's range; {fixed(current_ma, 2, 'mA')} is “{state}” (NE 43)."
                )
            )
        answers.tables.append(others(sensor, signal, reference_c, t_c))
        return answers


def sensitivity(sensor: str, t_c: float) -> str:
    if sensor.startswith("tc-"):
        return fixed(thermocouples.seebeck_uv_per_k(sensor[3:], t_c), 2, "µV/K")
    element = rtd.element(sensor)
    return significant(rtd.sensitivity_ohm_per_k(t_c, element.r0_ohm, element.curve), 4, "Ω/K")


def tolerances(sensor: str, t_c: float) -> str:
    """Each class that holds at a temperature, with its tolerance; wire-wound elements on the curve of IEC 60751."""
    if not sensor.startswith("tc-") and rtd.element(sensor).curve != rtd.IEC60751:
        return "none: not the curve of IEC 60751"
    found = []
    for name in ("1", "2", "3") if sensor.startswith("tc-") else ("AA", "A", "B", "C"):
        try:
            if sensor.startswith("tc-"):
                tolerance = thermocouples.tolerance_k(sensor[3:], name, t_c)
            else:
                tolerance = rtd.tolerance_k(name, t_c)
        except CalculationError:
            continue
        found.append(f"class {name} ±{significant(tolerance, 3, 'K')}")
    return ", ".join(found) or "no class holds at this temperature"


def others(sensor: str, signal: float, reference_c: float, t_c: float) -> Table:
    """What inputs set to the other sensors of the kind make of a signal."""
    rows = []
    for one in COUPLES if sensor.startswith("tc-") else ELEMENTS:
        if one.key != sensor:
            try:
                shown = temperature(one.key, signal, reference_c)
            except OutOfRange:
                rows.append((one.label, "outside its range", ""))
            else:
                rows.append((one.label, fixed(shown, 1, "°C"), f"{shown - t_c:+.1f}".replace("-", "−") + " K"))
    return Table("What an input set for another sensor would show", ("Input set for", "Shows", "Error"), rows)


class LeadCalculator(Calculator):
    slug = "leads"
    title = _("Lead error of a platinum thermometer")
    purpose = "By how much the wires of a Pt100 or Pt1000 falsify its reading."
    source = "IEC 60751, IEC 60228, Ohm's law"

    sensor = forms.ChoiceField(initial="pt100", choices=labelled(ELEMENTS))
    t_c = Number("100", "°C", signed=True, label=_("Temperature of the element"))
    wires = forms.ChoiceField(initial="2", choices=[("2", "two"), ("3", "three"), ("4", "four")])
    conductor = forms.ChoiceField(initial="iec-2-0.5", choices=CONDUCTORS, label=_("Cable"))
    own_ohm_per_km = Number(unit="Ω/km", required=False, label=_("Other cable, one core"))
    length_m = Number("20", "m", label=_("Length, one way"))
    cable_c = Number("20", "°C", signed=True, label=_("Temperature of the cable"))
    mismatch_ohm = Number("0.1", "Ω", label=_("Cores of a three-wire circuit differ by"))

    def calculate(self, sensor, t_c, wires, conductor, own_ohm_per_km, length_m, cable_c, mismatch_ohm) -> Answers:
        element = rtd.element(sensor)
        per_km = loop_power.resistance_at(conductor_ohm_per_km(conductor, own_ohm_per_km), cable_c)
        both = loop_power.run_ohm(per_km, length_m)
        added = {"2": both, "3": mismatch_ohm, "4": 0.0}[wires]
        error = rtd.lead_error_k(t_c, added, element.r0_ohm, element.curve)
        answers = Answers(
            facts=[
                ("Error of the reading", f"{fixed(error, 2, 'K')}"),
                ("Reading", fixed(t_c + error, 2, "°C")),
                ("Both cores together", fixed(both, 2, "Ω")),
                ("Tolerance of the element", tolerances(sensor, t_c)),
            ]
        )
        try:
            allowed = rtd.tolerance_k("B", t_c) / 2
        except CalculationError:
            return answers
        share = f"half of the class B tolerance, {significant(allowed, 3, 'K')}"
        answers.verdicts.append(
            Verdict("success", f"Within {share}.")
            if abs(error) <= allowed
            else Verdict("warning", f"More than {share}: use three or four wires, or a transmitter in the head.")
        )
        return answers
