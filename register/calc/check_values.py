"""Runs a file of check values through the functions that the product uses.

A row names its calculation in the JSON of ``inputs`` under ``calc``; the other keys are its arguments. ``expected`` is
a JSON number, list, object or true/false, or a bare word or phrase; ``tolerance`` is absolute, or "exact".
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from register.calc import (
    accuracy,
    calibration,
    control,
    identity,
    intrinsic_safety,
    loop_power,
    panel,
    reliability,
    rtd,
    serial_bus,
    signals,
    thermocouples,
    units,
)
from register.calc.errors import CalculationError, NoEquivalent, OutOfRange

Inputs = dict[str, Any]

COLUMNS = ("id", "inputs", "expected", "tolerance")


class MalformedFile(Exception):
    """The file is not a table of check values; the message says what is missing."""


@dataclass(frozen=True, slots=True)
class Result:
    """One row's outcome; ``got`` is what was computed, or why nothing was."""

    id: str
    passed: bool
    expected: str
    got: str


def run_file(path: Path) -> list[Result]:
    """Every row's result. Raises MalformedFile, which says what is wrong with the table, and OSError."""
    return [run_row(row) for row in read_rows(path)]


def read_rows(path: Path) -> list[dict[str, str]]:
    """The rows of a file of check values. Raises MalformedFile and OSError."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            table = csv.DictReader(file, strict=True)
            missing = [column for column in COLUMNS if column not in (table.fieldnames or ())]
            if missing:
                raise MalformedFile(f"{path} has no column {', '.join(missing)}: it is no table of check values.")
            rows = []
            for row in table:
                if None in row or None in row.values():
                    raise MalformedFile(
                        f"{path}, line {table.line_num}: the row does not have the {len(table.fieldnames)} values "
                        "that the heading names."
                    )
                rows.append(row)
    except UnicodeDecodeError:
        raise MalformedFile(f"{path} is not a text file in UTF-8.") from None
    except csv.Error as fault:
        raise MalformedFile(f"{path}, after line {table.line_num}: {fault}.") from None
    if not rows:
        raise MalformedFile(f"{path} has a heading but no rows.")
    return rows


def run_row(row: dict[str, str]) -> Result:
    """Compute one row. A calculation that is unknown, or an input that does not fit it, fails the row."""
    passed, got = _outcome(row)
    return Result(row["id"], passed, row["expected"], got)


def _outcome(row: dict[str, str]) -> tuple[bool, str]:
    try:
        inputs = json.loads(row["inputs"])
        allowed = 0.0 if row["tolerance"] in ("exact", "") else float(row["tolerance"])
    except ValueError:
        return False, "nothing (the inputs are not JSON, or the tolerance is neither a number nor “exact”)"
    name = str(inputs.get("calc")) if isinstance(inputs, dict) else ""
    if name not in ADAPTERS:
        return False, f"nothing (the calculation “{name}” is not known)"
    try:
        got = ADAPTERS[name](inputs)
    except CalculationError as refused:
        return False, f"nothing ({refused})"
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as fault:
        return False, f"nothing (the inputs do not fit the calculation: {type(fault).__name__}, {fault})"
    return _agrees(got, _read(row["expected"]), allowed), json.dumps(got, ensure_ascii=False)


def _read(text: str) -> Any:
    try:
        return json.loads(text)
    except json.JSONDecodeError:
        return text


def _agrees(got: Any, expected: Any, allowed: float) -> bool:
    if isinstance(expected, bool) or isinstance(got, bool):
        return got is expected
    if isinstance(expected, int | float):
        is_number = isinstance(got, int | float)
        return is_number and (got == expected or abs(got - expected) <= allowed + 1e-12 * max(1.0, abs(expected)))
    if isinstance(expected, dict):
        return isinstance(got, dict) and all(
            key in got and _agrees(got[key], part, allowed) for key, part in expected.items()
        )
    if isinstance(expected, list):
        return (
            isinstance(got, list | tuple)
            and len(got) == len(expected)
            and all(_agrees(one, part, allowed) for one, part in zip(got, expected, strict=True))
        )
    # A table that gives a word with its synonyms or examples, "flow, flow rate", is agreed with by any of the words.
    return got == expected or (isinstance(got, str) and expected in got.partition(" (")[0].split(", "))


def _given(inputs: Inputs, *names: str, default: Any = None) -> Any:
    """The first of several names that is given."""
    for name in names:
        if name in inputs:
            return inputs[name]
    if default is None:
        raise KeyError(names[0])
    return default


def _numbers(inputs: Inputs) -> list[float]:
    """Every number among the inputs, under whatever names, in order."""
    parts = inputs.values() if isinstance(inputs, dict) else inputs
    found = []
    for part in parts:
        if isinstance(part, dict | list):
            found += _numbers(part)
        elif isinstance(part, int | float) and not isinstance(part, bool):
            found.append(part)
    return found


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def _fahrenheit(celsius: float) -> float:
    return celsius * 1.8 + 32


def _or_phrase(compute: Callable[[], Any], undefined: str = "not defined") -> Any:
    """A tolerance, or the phrase for a class that does not hold there or does not exist."""
    try:
        return compute()
    except OutOfRange:
        return "out of class range"
    except CalculationError:
        return undefined


# Sensors


def _curve(inputs: Inputs) -> rtd.PlatinumCurve:
    return rtd.curve(inputs.get("curve", "IEC60751"))


def _tc_tolerance(inputs: Inputs) -> Any:
    standard = "ASTM E230" if "ASTM" in str(inputs.get("standard", "")) else "IEC 60584-1"
    of_class = {"std": "standard"}.get(str(inputs["class"]), str(inputs["class"]))
    return _or_phrase(lambda: thermocouples.tolerance_k(inputs["type"], of_class, inputs["t_c"], standard))


def _rtd_tolerance(inputs: Inputs) -> Any:
    device = inputs.get("device", "thermometer")
    name = str(inputs["class"])
    default = "film" if name.startswith("F") and device == "resistor" else "wire wound"
    construction = inputs.get("construction", default).replace("_", " ").replace("wirewound", "wire wound")
    return _or_phrase(lambda: rtd.tolerance_k(name, inputs["t_c"], construction, device))


def _rtd_tolerance_ohm(inputs: Inputs) -> float:
    """As the tables in ohm of IEC 60751:1995 give it: without the narrower ranges of the later editions."""
    of = rtd.tolerance_class(str(inputs["class"]))
    tolerance = of.a_k + of.b * abs(inputs["t_c"])
    return tolerance * rtd.sensitivity_ohm_per_k(inputs["t_c"], inputs.get("r0", 100))


def _two_wire_error(inputs: Inputs) -> float:
    each = inputs["lead_ohm_each"]
    return rtd.lead_error_k(inputs["t_c"], 2 * each, inputs.get("r0", 100), _curve(inputs))


def _two_wire_error_cable(inputs: Inputs) -> float:
    leads = loop_power.run_ohm(inputs["cable_ohm_per_km"], inputs["length_m"])
    return rtd.lead_error_k(inputs["t_c"], leads, inputs.get("r0", 100), _curve(inputs))


def _wrong_curve(inputs: Inputs) -> float:
    known = rtd.curves()
    curves = {name: known[value] for name, value in inputs.items() if isinstance(value, str) and value in known}
    of_sensor = {name: curve for name, curve in curves.items() if name.startswith(("sensor", "element"))}
    of_reader = [curve for name, curve in curves.items() if name not in of_sensor] or [rtd.IEC60751]
    r0_ohm = inputs.get("r0", 100)
    (sensor,), (reader,) = of_sensor.values(), of_reader
    return rtd.shown_with_wrong_curve(inputs["t_c"], rtd.Element(r0_ohm, sensor), rtd.Element(r0_ohm, reader))


_COLOUR_CODES = {"IEC": "IEC 60584-3", "BS": "BS 1843", "DIN": "DIN 43710", "NF": "NF C 42", "JIS": "JIS C 1610"}
"""By the body that issued it, a colour code whose number is written in more ways than one."""


def _tc_colour(inputs: Inputs) -> Any:
    """One part of a cable's colours, or all three."""
    safe, grade = bool(inputs.get("intrinsically_safe")), inputs.get("grade", "")
    standard = _COLOUR_CODES.get(inputs["standard"].split()[0], inputs["standard"])
    colour = thermocouples.cable_colour(inputs["type"], standard, grade=grade, intrinsically_safe=safe)
    parts = {part: getattr(colour, part) for part in ("positive", "negative", "sheath")}
    return parts[inputs["part"]] if "part" in inputs else parts


# Signals and calibration


def _scale(inputs: Inputs) -> float:
    return signals.scale(inputs["value"], inputs["in"], inputs["out"], square_root=inputs.get("fn") == "sqrt")


def _check_points(inputs: Inputs) -> list[list[float]]:
    low, high = inputs["range"]
    root = inputs.get("fn") == "sqrt"
    percents = inputs.get("points", 5)  # 5, "5 inset", or the per cents themselves
    if not isinstance(percents, list):
        count, _, inset = str(percents).partition(" ")
        percents = calibration.percents(int(count), inset=bool(inset))
    applied = [low + (high - low) * percent / 100 for percent in percents]
    if inputs.get("direction") in ("up-down", "both", "up and down"):
        applied = [*applied, *reversed(applied[:-1])]
    return [[value, signals.scale(value, (low, high), inputs["out"], square_root=root)] for value in applied]


def _percent_span_error(inputs: Inputs) -> float:
    return calibration.error_percent_of_span(inputs["applied"], inputs["measured"], inputs["range"], inputs["out"])


def _max_error(inputs: Inputs) -> float:
    """The size of the largest error of readings, at the applied values or at even points, upwards and downwards."""
    if errors := _numbers({name: part for name, part in inputs.items() if name.startswith("error")}):
        return max(map(abs, errors))
    if "applied" in inputs:
        pairs = zip(inputs["applied"], inputs["measured"], strict=True)
        return max(abs(_percent_span_error(inputs | {"applied": at, "measured": reading})) for at, reading in pairs)
    runs = [inputs[name] for name in ("up", "down", "readings", "measured") if name in inputs]
    return max(abs(calibration.worst_error_percent(run, inputs["out"])) for run in runs)


def _pass(inputs: Inputs) -> bool:
    return calibration.passes(inputs["error_percent"], inputs["tolerance_percent"])


def _loop_accuracy(inputs: Inputs) -> float:
    sensor = inputs["sensor"]
    if "tc" in sensor:
        of_sensor = thermocouples.tolerance_k(sensor["tc"], str(sensor["class"]), sensor["t_c"])
    else:
        name = str(sensor.get("class", sensor.get("rtd", sensor.get("rtd_class"))))
        construction = sensor.get("construction", "wire wound").replace("_", " ")
        of_sensor = rtd.tolerance_k(name, sensor["t_c"], construction)
    parts = (inputs.get(f"{part}_percent_span", 0.0) for part in ("transmitter", "input", "receiver"))
    return accuracy.root_sum_of_squares([of_sensor, *(accuracy.of_span(part, inputs["span"]) for part in parts)])


def _mixed_basis(inputs: Inputs) -> float:
    return accuracy.root_sum_of_squares(
        [
            accuracy.of_reading(inputs["reading_percent"], inputs["value"]),
            accuracy.of_span(inputs["span_percent"], inputs["span"]),
        ]
    )


def _rss_percent_of(inputs: Inputs) -> float:
    """Of a span, given by its width or by its ends."""
    whole = _numbers({name: part for name, part in inputs.items() if name != "terms"})
    low, high = whole if len(whole) == 2 else (0.0, *whole)
    return accuracy.root_sum_of_squares(inputs["terms"]) * 100 / (high - low)


# Circuits


def _transmitter_v(inputs: Inputs) -> float:
    run = loop_power.run_ohm(inputs.get("cable_ohm_per_km", 0), inputs.get("length_m", 0))
    return loop_power.transmitter_v(inputs["supply_v"], inputs["burden_ohm"] + run, inputs["current_ma"])


def _max_length(inputs: Inputs) -> float:
    greatest = loop_power.greatest_burden_ohm(inputs["supply_v"], inputs["min_v"], inputs["current_ma"])
    return loop_power.greatest_length_m(greatest, inputs["burden_ohm"], inputs["cable_ohm_per_km"])


def _max_length_ft(inputs: Inputs) -> float:
    """One way, in feet, of a run whose conductor has so many feet to the ohm there and back."""
    return max(0.0, inputs["max_ohm"] - inputs["burden_ohm"]) * inputs["ft_per_ohm"]


def _entity(inputs: Inputs) -> intrinsic_safety.Comparison:
    source, device, cable = (inputs.get(part, {}) for part in ("source", "device", "cable"))
    return intrinsic_safety.compare(
        intrinsic_safety.Source(*(source.get(name, 0.0) for name in ("Uo", "Io", "Po", "Co", "Lo"))),
        intrinsic_safety.Device(*(device.get(name, 0.0) for name in ("Ui", "Ii", "Pi", "Ci", "Li"))),
        intrinsic_safety.CableRun(*(cable.get(name, 0.0) for name in ("c_pf_per_m", "l_uh_per_m", "length_m"))),
        halve=inputs.get("half_rule", False),
    )


def _entity_verdict(inputs: Inputs) -> str:
    fails = _entity(inputs).fails
    return f"fail: {' '.join(fails)}" if fails else "pass"


def _half_rule(inputs: Inputs) -> str:
    source, device = inputs["source"], inputs["device"]
    large = intrinsic_safety.both_stores_large(
        intrinsic_safety.Source(0, 0, 0, source["Co"], source["Lo"]),
        intrinsic_safety.Device(0, 0, 0, device["Ci"], device["Li"]),
    )
    return "yes" if large else "no"


# Control


def _tuning(tuning: control.Tuning) -> dict[str, float]:
    return {"kc": tuning.gain, "ti": tuning.integral_time, "td": tuning.derivative_time}


def _ideal(inputs: Inputs) -> control.Tuning:
    return control.Tuning(inputs["kc"], inputs["ti"], inputs.get("td", 0.0))


def _ideal_to_parallel(inputs: Inputs) -> dict[str, float]:
    gains = control.ideal_to_parallel(_ideal(inputs))
    return {"kp": gains.proportional, "ki": gains.integral, "kd": gains.derivative}


def _ideal_to_series(inputs: Inputs) -> Any:
    try:
        return _tuning(control.ideal_to_series(_ideal(inputs)))
    except NoEquivalent:
        return "no real series form"


def _process(inputs: Inputs) -> control.Process:
    return control.Process(inputs.get("gain", 1.0), _given(inputs, "tau", "tau1"), inputs["theta"])


def _half(order: int) -> Callable[[Inputs], dict[str, float]]:
    def reduce(inputs: Inputs) -> dict[str, float]:
        kept, dead_time = control.half_rule(
            inputs["lags"],
            order,
            delay=inputs.get("delay", 0.0),
            rhp_zeros=inputs.get("zeros_rhp", []),
            lhp_zeros=inputs.get("zeros_lhp", []),
        )
        named = {f"tau{place}": lag for place, lag in enumerate(kept, start=1)}
        return named | {"tau": kept[0], "theta": dead_time}

    return reduce


# Reliability


def _spares_stock(inputs: Inputs) -> dict[str, float]:
    mean = reliability.lead_time_demand(inputs["installed"], inputs["mtbf_h"], inputs["lead_time_h"])
    stock = reliability.stock_for_level(mean, inputs["level"])
    return {"mean": mean, "stock": stock, "achieved": reliability.poisson_at_most(mean, stock)}


def _eoq(inputs: Inputs) -> dict[str, float]:
    quantity, cost = reliability.economic_order(inputs["fixed_cost"], inputs["holding_cost"], inputs["demand"])
    return {"q": quantity, "cost": cost}


def _pfd_whole(inputs: Inputs) -> float:
    return reliability.pfd_iec61508_6(
        inputs["voting"],
        inputs["lambda_per_h"],
        inputs["test_interval_h"],
        dangerous_fraction=inputs.get("dangerous_fraction", 0.5),
        diagnostic_coverage=inputs.get("dc", 0.0),
        beta=inputs.get("beta", 0.0),
        beta_detected=inputs.get("beta_d", 0.0),
        mttr_h=inputs.get("mttr_h", 8.0),
    )


def _sil(inputs: Inputs) -> str:
    level = reliability.sil_band(_given(inputs, "pfd_avg", "pfd"))
    return f"SIL {level}" if level else "none"


# Identity and units


def _isa_parse(inputs: Inputs) -> list[str]:
    tag = inputs["tag"]
    letters = tag if tag.isalpha() else identity.parse_tag(tag).letters
    return [meaning for _, _, meaning in identity.read_letters(letters).meanings]


def _unit(inputs: Inputs) -> float:
    source, target = units.spelling(inputs["from"]), units.spelling(inputs["to"])
    value = units.convert(Decimal(str(inputs["value"])), source.code, target.code)
    if (source.reference, target.reference) == ("gauge", "absolute"):
        value = units.absolute_of_gauge(value, target.code)
    elif (source.reference, target.reference) == ("absolute", "gauge"):
        value = units.gauge_of_absolute(value, target.code)
    return float(value)


def _unit_difference(inputs: Inputs) -> float:
    source, target = units.spelling(inputs["from"]), units.spelling(inputs["to"])
    return float(units.convert_difference(Decimal(str(inputs["value"])), source.code, target.code))


def _cutout_tolerance(inputs: Inputs) -> Any:
    """Of one side or of each, named by the side of the front or of its hole."""
    found = [panel.cutout_tolerance_mm(side) for side in _numbers(inputs)]
    return found[0] if len(found) == 1 else found


ADAPTERS: dict[str, Callable[[Inputs], Any]] = {
    "tc_emf": lambda i: thermocouples.emf(i["type"], i["t_c"], i.get("ref_c", 0.0)),
    "tc_emf_f": lambda i: thermocouples.emf(i["type"], _celsius(i["t_f"]), _celsius(i.get("ref_f", 32.0))),
    "tc_temperature": lambda i: thermocouples.temperature(i["type"], i["emf_mv"], i.get("ref_c", 0.0)),
    "tc_temperature_f": lambda i: _fahrenheit(
        thermocouples.temperature(i["type"], i["emf_mv"], _celsius(i.get("ref_f", 32.0)))
    ),
    "tc_inverse_poly": lambda i: thermocouples.temperature_by_polynomial(i["type"], i["emf_mv"], i.get("mv_range")),
    "tc_seebeck": lambda i: thermocouples.seebeck_uv_per_k(i["type"], i["t_c"]),
    "tc_wrong_type": lambda i: thermocouples.shown_with_wrong_type(
        i["sensor_type"], i["input_type"], i["t_c"], i.get("ref_c", 0.0)
    ),
    "tc_injection_mv": lambda i: thermocouples.emf(i["type"], i["t_c"], i.get("ref_c", 0.0)),
    "tc_tol": _tc_tolerance,
    "tc_colour": _tc_colour,
    "rtd_r": lambda i: rtd.resistance(i["t_c"], i.get("r0", 100), _curve(i)),
    "rtd_injection_ohm": lambda i: rtd.resistance(i["t_c"], i.get("r0", 100), _curve(i)),
    "rtd_t": lambda i: rtd.temperature(i["r_ohm"], i.get("r0", 100), _curve(i)),
    "rtd_alpha": lambda i: _curve(i).alpha,
    "rtd_sensitivity": lambda i: rtd.sensitivity_ohm_per_k(i["t_c"], i.get("r0", 100), _curve(i)),
    "rtd_wrong_curve": _wrong_curve,
    "rtd_tol": _rtd_tolerance,
    "rtd_tol_ohm": _rtd_tolerance_ohm,
    "rtd_two_wire_error": _two_wire_error,
    "rtd_two_wire_error_cable": _two_wire_error_cable,
    "rtd_three_wire_error": lambda i: rtd.lead_error_k(i["t_c"], i["mismatch_ohm"], i.get("r0", 100), _curve(i)),
    "rtd_colour": lambda i: list(rtd.wire_colours(i["wires"], i.get("element", 1))),
    "scale": _scale,
    "sqrt_twice": lambda i: signals.flow_percent(i["dp_percent"], 2),
    "sqrt_none": lambda i: signals.flow_percent(i["dp_percent"], 0),
    "ne43": lambda i: signals.ne43_state(i["ma"]),
    "conductor_r": lambda i: loop_power.conductor_ohm_per_km(
        i["csa_mm2"], str(i.get("class", "2")), i.get("coating", "plain").replace("_", "-").replace(" ", "-")
    ),
    "awg_diameter": lambda i: loop_power.awg_diameter_mm(i["awg"]) / 0.0254,
    "awg_area": lambda i: loop_power.awg_area_mm2(i["awg"]),
    "awg_resistance": lambda i: loop_power.awg_ohm_per_km(i["awg"]) * 0.3048,
    "r_at_temperature": lambda i: loop_power.resistance_at(i["r20"], i["t_c"], i.get("alpha", loop_power.COPPER_PER_K)),
    "iec60228_kt": lambda i: loop_power.correction_to_20_c(i["t_c"]),
    "loop_r_max": lambda i: loop_power.greatest_burden_ohm(i["supply_v"], i["min_v"], i["current_ma"]),
    "loop_tx_volts": _transmitter_v,
    "loop_max_length": _max_length,
    "loop_max_length_ft": _max_length_ft,
    "loop_ok": lambda i: loop_power.leaves_enough(_transmitter_v(i), i["min_v"]),
    "hart_r_ok": lambda i: loop_power.carries_digital_signal(
        i["loop_ohm"], i.get("min_ohm", 230.0), i.get("max_ohm", 1100.0)
    ),
    "is_entity": _entity_verdict,
    "is_half_rule": _half_rule,
    "is_linear_po": lambda i: intrinsic_safety.matched_power_mw(i["Uo"], i["Io"]),
    "is_max_length": lambda i: intrinsic_safety.greatest_cable_m(
        i["Co_nf"], i["Ci_nf"], i["Lo_mh"], i["Li_mh"], i["c_pf_per_m"], i["l_uh_per_m"]
    ),
    "gas_group_ok": lambda i: intrinsic_safety.group_suits(i["apparatus_group"], i["area_group"]),
    "t_class_ok": lambda i: intrinsic_safety.class_suits(i["class"], i["ignition_c"]),
    "t_class_limit": lambda i: intrinsic_safety.class_limit_c(i["class"]),
    "rs485_max_nodes": lambda i: serial_bus.greatest_nodes(i["unit_load"], i.get("bias_unit_loads", 0.0)),
    "rs485_unit_load": lambda i: serial_bus.unit_loads(i["r_kohm"]),
    "rs485_bus_load": lambda i: serial_bus.bus_load(i["nodes"]),
    "rs485_bus_ok": lambda i: serial_bus.bus_carries(i["nodes"], i.get("bias_unit_loads", 0.0)),
    "modbus_address": lambda i: serial_bus.address_kind(i["address"]),
    "duplicate_addresses": lambda i: serial_bus.duplicates(i["addresses"]),
    "pb_to_gain": lambda i: control.gain_of_band(i["pb_percent"]),
    "gain_to_pb": lambda i: control.band_of_gain(_given(i, "gain", "kc")),
    "repeats_per_min_to_ti_s": lambda i: control.integral_time_s(i["repeats_per_min"]),
    "ti_s_to_repeats_per_min": lambda i: control.repeats_per_minute(_given(i, "ti_s", "ti")),
    "ideal_to_parallel": _ideal_to_parallel,
    "parallel_to_ideal": lambda i: _tuning(
        control.parallel_to_ideal(control.ParallelTuning(i["kp"], i["ki"], i.get("kd", 0.0)))
    ),
    "series_to_ideal": lambda i: _tuning(control.series_to_ideal(_ideal(i))),
    "ideal_to_series": _ideal_to_series,
    "fopdt_ultimate": lambda i: dict(zip(("ku", "pu"), control.ultimate(_process(i)), strict=True)),
    "zn_ultimate": lambda i: _tuning(control.ziegler_nichols(i["ku"], i["pu"], i["mode"])),
    "zn_reaction_curve": lambda i: _tuning(control.ziegler_nichols_reaction_curve(_process(i), i["mode"])),
    "tyreus_luyben": lambda i: _tuning(control.tyreus_luyben(i["ku"], i["pu"], i.get("mode", "PI"))),
    "cohen_coon": lambda i: _tuning(control.cohen_coon(_process(i), i["mode"])),
    "simc_pi": lambda i: _tuning(control.simc_pi(_process(i), i["tauc"])),
    "simc_pid_series": lambda i: _tuning(control.simc_pid_series(_process(i), i["tau2"], i["tauc"])),
    "half_rule_first_order": _half(1),
    "half_rule_second_order": _half(2),
    "lambda_pi": lambda i: _tuning(control.lambda_pi(_process(i), _given(i, "lambda", "tauc"))),
    "imc_pid": lambda i: _tuning(control.imc_pid(_process(i), _given(i, "lambda", "tauc"))),
    "poisson_cdf": lambda i: reliability.poisson_at_most(i["mean"], i["k"]),
    "stock_for_level": lambda i: reliability.stock_for_level(i["mean"], i["level"]),
    "spares_stock": _spares_stock,
    "eoq": _eoq,
    "reorder_point": lambda i: reliability.reorder_point(
        i["demand_per_week"], i["lead_weeks"], i["sd_per_week"], i["z"]
    ),
    "rss": lambda i: accuracy.root_sum_of_squares(i["terms"]),
    "rss_percent_of": _rss_percent_of,
    "rss_with_bias": lambda i: accuracy.root_sum_of_squares(i["terms"], i["bias"]),
    "sum_worst_case": lambda i: accuracy.worst_case(i["terms"]),
    "loop_accuracy_temp": _loop_accuracy,
    "budget_ok": lambda i: accuracy.meets(i["terms"], i["limit"]),
    "mixed_basis": _mixed_basis,
    "check_points": _check_points,
    "percent_span_error": _percent_span_error,
    "hysteresis": lambda i: calibration.hysteresis_percent(i["up"], i["down"], i["out"]),
    "max_error": _max_error,
    "pass": _pass,
    "accuracy_ratio": lambda i: calibration.accuracy_ratio(i["device_tolerance"], i["standard_uncertainty"]),
    "pfd_simplified": lambda i: reliability.pfd_simplified(
        i["voting"], i["lambda_du_per_h"], i["test_interval_h"], i.get("beta", 0.0)
    ),
    "pfd_iec61508_6": _pfd_whole,
    "pfd_series": lambda i: reliability.pfd_series(*_numbers(i)),
    "sil_band": _sil,
    "rrf": lambda i: reliability.risk_reduction(_given(i, "pfd_avg", "pfd")),
    "action_ok": lambda i: control.action_is_right(
        i["controller"], i["valve"], i["process_sign"], i.get("inverter", False)
    ),
    "action_required": lambda i: control.action_needed(i["valve"], i["process_sign"], i.get("inverter", False)),
    "fail_position": lambda i: control.fail_position(i["valve"]),
    "unit": _unit,
    "unit_difference": _unit_difference,
    "cutout": lambda i: list(panel.cutout_mm(i["front_w_mm"], i["front_h_mm"])),
    "cutout_tolerance": _cutout_tolerance,
    "cutout_ok": lambda i: panel.fits_cutout(i["front_w_mm"], i["front_h_mm"], i["hole_w_mm"], i["hole_h_mm"]),
    "isa_letter": lambda i: identity.letter_meaning(i["letter"], i["position"]),
    "isa_parse": _isa_parse,
}
