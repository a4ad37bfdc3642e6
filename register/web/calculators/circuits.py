"""Two-wire loops, intrinsically safe circuits, serial buses, panels."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from register.calc import intrinsic_safety, loop_power, panel, serial_bus
from register.calc.units import read_table
from register.web.calculators.base import Answers, Calculator, Number, Table, Verdict, fixed, options, significant
from register.web.calculators.conductors import CONDUCTORS, conductor_ohm_per_km


class LoopPowerCalculator(Calculator):
    slug = "two-wire-loop"
    title = _("Supply of a two-wire transmitter")
    purpose = "The voltage left at 20 mA and at the failure current, the longest cable, the greatest burden."
    source = "Ohm's law, IEC 60228, ASTM B258, NAMUR NE 43; HART practice for the resistance"

    supply_v = Number("24", "V", label=_("Supply"))
    min_v = Number("10.5", "V", label=_("Least voltage of the transmitter"))
    burden_ohm = Number("250", "Ω", label=_("Receivers and barriers in series"))
    conductor = forms.ChoiceField(initial="iec-2-1.5", choices=CONDUCTORS, label=_("Cable"))
    own_ohm_per_km = Number(unit="Ω/km", required=False, label=_("Other cable, one core"))
    length_m = Number("300", "m", label=_("Length, one way"))
    cable_c = Number("40", "°C", signed=True, label=_("Temperature of the cable"))
    fault_ma = Number(
        "22.5", "mA", label=_("Failure current"), help_text=_("Of the transmitter's data sheet; if unknown, 22.5 mA.")
    )

    def calculate(self, supply_v, min_v, burden_ohm, conductor, own_ohm_per_km, length_m, cable_c, fault_ma) -> Answers:
        core = loop_power.resistance_at(conductor_ohm_per_km(conductor, own_ohm_per_km), cable_c)
        cable = loop_power.run_ohm(core, length_m)
        greatest = loop_power.greatest_burden_ohm(supply_v, min_v, max(20.0, fault_ma))
        left = {
            current: loop_power.transmitter_v(supply_v, burden_ohm + cable, current) for current in (20.0, fault_ma)
        }
        answers = Answers(
            facts=[
                *((f"Left at {significant(current, 3, 'mA')}", fixed(v, 2, "V")) for current, v in left.items()),
                ("Cable, both cores", fixed(cable, 2, "Ω")),
                ("All in series", fixed(burden_ohm + cable, 1, "Ω")),
                ("Greatest resistance in series", fixed(greatest, 1, "Ω")),
                ("Longest cable", fixed(loop_power.greatest_length_m(greatest, burden_ohm, core), 0, "m")),
            ]
        )
        for current, volts in left.items():
            if loop_power.leaves_enough(volts, min_v):
                text = f"Enough at {significant(current, 3, 'mA')}: {fixed(volts - min_v, 2, 'V')} to spare."
                answers.verdicts.append(Verdict("success", text))
            else:
                text = f"Too little at {significant(current, 3, 'mA')}: {fixed(min_v - volts, 2, 'V')} are missing."
                answers.verdicts.append(Verdict("error", text))
        if not loop_power.carries_digital_signal(burden_ohm + cable):
            answers.verdicts.append(
                Verdict("warning", "A superimposed digital signal (HART) needs 230 to 1100 Ω in the loop.")
            )
        return answers


class IntrinsicSafetyCalculator(Calculator):
    slug = "intrinsic-safety"
    title = _("Intrinsically safe circuit")
    purpose = "Compares what a source gives with what a device and its cable may take."
    source = "IEC 60079-0, -11, -14, -25; the reduction, default cable figures, zones and groups from memory"
    caution = intrinsic_safety.CAUTION  # and so it shows no example, whose figures might be taken for the plant's
    groups = (
        ("Source", ("uo_v", "io_ma", "po_mw", "co_nf", "lo_mh")),
        ("Device", ("ui_v", "ii_ma", "pi_mw", "ci_nf", "li_mh", "group", "level", "t_class")),
        ("Cable", ("length_m", "pf_per_m", "uh_per_m")),
        ("Area", ("zone", "gas", "ignition_c")),
    )

    uo_v = Number(unit="V", label=_("Uo"))
    io_ma = Number(unit="mA", label=_("Io"))
    po_mw = Number(unit="mW", label=_("Po"))
    co_nf = Number(unit="nF", label=_("Co"))
    lo_mh = Number(unit="mH", label=_("Lo"))
    ui_v = Number(unit="V", label=_("Ui"))
    ii_ma = Number(unit="mA", label=_("Ii"))
    pi_mw = Number(unit="mW", label=_("Pi"))
    ci_nf = Number(unit="nF", label=_("Ci"))
    li_mh = Number(unit="mH", label=_("Li"))
    length_m = Number(unit="m", label=_("Length"))
    pf_per_m = Number("200", "pF/m", label=_("Capacitance"), help_text=_("200 pF/m where none is known."))
    uh_per_m = Number("1", "µH/m", label=_("Inductance"), help_text=_("1 µH/m where none is known."))
    gas = forms.ChoiceField(initial="IIC", choices=options("IIA", "IIB", "IIC"), label=_("Gas group"))
    group = forms.ChoiceField(initial="IIC", choices=options("IIA", "IIB", "IIC"), label=_("Group"))
    zone = forms.ChoiceField(initial="1", choices=options("0", "1", "2"), label=_("Zone"))
    level = forms.ChoiceField(initial="ia", choices=options("ia", "ib", "ic"), label=_("Level of protection"))
    t_class = forms.ChoiceField(
        initial="T4", choices=options(*intrinsic_safety.TEMPERATURE_CLASSES_C), label=_("Temperature class")
    )
    ignition_c = Number(unit="°C", label=_("Ignition temperature of the gas"))

    def calculate(self, length_m, pf_per_m, uh_per_m, gas, group, zone, level, t_class, ignition_c, **given) -> Answers:
        source = intrinsic_safety.Source(*(given[name] for name in ("uo_v", "io_ma", "po_mw", "co_nf", "lo_mh")))
        device = intrinsic_safety.Device(*(given[name] for name in ("ui_v", "ii_ma", "pi_mw", "ci_nf", "li_mh")))
        cable = intrinsic_safety.CableRun(pf_per_m, uh_per_m, length_m)
        compared = intrinsic_safety.compare(source, device, cable, group=gas)
        longest = intrinsic_safety.greatest_cable_m(
            compared.co_nf, device.ci_nf, compared.lo_mh, device.li_mh, pf_per_m, uh_per_m
        )
        rows = [
            ("U", "voltage", source.uo_v, device.ui_v, "V"),
            ("I", "current", source.io_ma, device.ii_ma, "mA"),
            ("P", "power", source.po_mw, device.pi_mw, "mW"),
            ("C", "capacitance", compared.capacitance_nf, compared.co_nf, "nF"),
            ("L", "inductance", compared.inductance_mh, compared.lo_mh, "mH"),
        ]
        suits = [
            (compared.passes, f"Comparison of the parameters{_failing(rows, compared.fails)}"),
            (intrinsic_safety.group_suits(group, gas), f"A device of group {group} in gas of group {gas}"),
            (intrinsic_safety.level_suits(level, zone), f"Level {level} in zone {zone}"),
            (
                intrinsic_safety.class_suits(t_class, ignition_c),
                f"Class {t_class}, up to {intrinsic_safety.class_limit_c(t_class):g} °C, "
                f"under an ignition temperature of {ignition_c:g} °C",
            ),
        ]
        answers = Answers(
            facts=[("Longest cable by C and L", fixed(longest, 0, "m"))],
            verdicts=[
                Verdict("success", f"Passes: {text}.") if passes else Verdict("error", f"Fails: {text}.")
                for passes, text in suits
            ],
            tables=[
                Table(
                    "What may be, beside what is",
                    ("Parameter", "Is", "May be", "Result"),
                    [
                        (
                            word,
                            significant(it, 5, unit),
                            significant(most, 5, unit),
                            "fails" if letter in compared.fails else "passes",
                        )
                        for letter, word, it, most, unit in rows
                    ],
                )
            ],
        )
        if intrinsic_safety.both_stores_large(source, device):
            text = "Ci and Li both exceed 1 % of Co and Lo: both allowances are halved."
            answers.verdicts.append(Verdict("warning", text))
        return answers


def _failing(rows: list[tuple], fails: tuple[str, ...]) -> str:
    words = [word for letter, word, *_ in rows if letter in fails]
    return f": {', '.join(words)}" if words else ""


class BusCalculator(Calculator):
    slug = "serial-bus"
    title = _("Serial bus")
    purpose = "Loads on the driver, length at a speed, what an ohmmeter shows across the wires."
    source = "TIA-485-A; MODBUS over serial line V1.02; length against speed: common practice"

    baud = forms.ChoiceField(
        initial="9600",
        choices=options("1200", "2400", "4800", "9600", "19200", "38400", "57600", "115200"),
        label=_("Speed (bit/s)"),
    )
    framing = forms.ChoiceField(initial="8E1", choices=options("8E1", "8O1", "8N2", "8N1", "7E1"), label=_("Framing"))
    nodes = Number("20", label=_("Stations"))
    unit_load = Number("0.25", "UL", label=_("Unit load of each"), help_text=_("1 unit load is 12 kΩ."))
    bias = Number("20", "UL", label=_("Taken by the bias network"), help_text=_("20 or so; 0 without one."))
    terminations = Number("2", label=_("Terminations of 120 Ω"))

    def calculate(self, baud, framing, nodes, unit_load, bias, terminations) -> Answers:
        frame, load = serial_bus.framing(framing), serial_bus.bus_load([(nodes, unit_load)])
        carries = serial_bus.bus_carries([(nodes, unit_load)], bias)
        answers = Answers(
            facts=[
                ("Load", f"{significant(load, 4)} of {significant(serial_bus.DRIVER_UNIT_LOADS - bias, 4)} unit loads"),
                ("Most stations like these", str(serial_bus.greatest_nodes(unit_load, bias))),
                ("Longest trunk", fixed(serial_bus.greatest_length_m(int(baud)), 0, "m")),
                ("Across the wires, without power", fixed(serial_bus.bus_resistance_ohm(terminations, load), 1, "Ω")),
                ("Character", f"{frame.bits} bits, {fixed(frame.bits * 1000 / int(baud), 2, 'ms')}"),
                ("Silence between messages", fixed(serial_bus.silent_interval_ms(int(baud), frame.bits), 2, "ms")),
            ],
            verdicts=[
                Verdict("success", "The driver carries these stations.")
                if carries
                else Verdict(
                    "error", "More unit loads than the driver carries: take stations of a smaller load, or a repeater."
                )
            ],
        )
        if terminations != 2:
            answers.verdicts.append(
                Verdict("warning", "A trunk is terminated at both ends and nowhere else: two of 120 Ω.")
            )
        if not frame.is_rtu:
            answers.verdicts.append(Verdict("warning", "RTU mode has 11 bits: 8E1, 8O1 or 8N2."))
        return answers


FRONTS = [
    (f"{row['front_w_mm']}x{row['front_h_mm']}", f"{row['front_w_mm']} × {row['front_h_mm']} mm")
    for row in read_table("panel_fronts.csv")
]


class PanelCalculator(Calculator):
    slug = "panel"
    title = _("Panel: cut-out and heat")
    purpose = "The hole for a front, whether a hole takes it, and how warm it gets inside."
    source = "IEC 61554:1999 (from memory); heat of sheet steel: common practice"

    front = forms.ChoiceField(initial="96x96", choices=FRONTS, label=_("Front, width × height"))
    hole_w_mm = Number("92.4", "mm", label=_("Hole, width"))
    hole_h_mm = Number("92.5", "mm", label=_("Hole, height"))
    heat_w = Number("40", "W", label=_("Heat of all devices"))
    wall_m2 = Number("1.6", "m²", label=_("Free wall of the panel"))
    outside_c = Number("40", "°C", signed=True, label=_("Hall"))
    rating_c = Number("50", "°C", signed=True, label=_("Lowest rating of the devices"))

    def calculate(self, front, hole_w_mm, hole_h_mm, heat_w, wall_m2, outside_c, rating_c) -> Answers:
        sides = [float(side) for side in front.split("x")]
        hole = panel.cutout_mm(*sides)
        plus = [panel.cutout_tolerance_mm(side) for side in sides]
        inside = panel.inside_temperature_c(heat_w, wall_m2, outside_c)
        fits = panel.fits_cutout(*sides, hole_w_mm, hole_h_mm)
        return Answers(
            facts=[
                ("Hole, width", f"{significant(hole[0], 4)} +{significant(plus[0], 2, 'mm')}, never less"),
                ("Hole, height", f"{significant(hole[1], 4)} +{significant(plus[1], 2, 'mm')}, never less"),
                ("Inside, on average", fixed(inside, 1, "°C")),
            ],
            verdicts=[
                Verdict("success", "The hole takes the front.")
                if fits
                else Verdict(
                    "error", "The hole does not take the front: it is too small, too large, or turned by 90°."
                ),
                Verdict("success", "5 K or more below the lowest rating.")
                if inside <= rating_c - 5
                else Verdict(
                    "warning",
                    "Less than 5 K below the lowest rating, and the hottest place is warmer than the average.",
                ),
            ],
        )
