"""Settings in the order in which one keys them in, each with its name and its value as text."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.errors import UnknownSpelling
from register.calc.signals import signal
from register.calc.units import label
from register.plant.values import Settings
from register.plant.words import ProportionalAs, TimeUnit


def keying_order(settings: Settings) -> Iterator[tuple[str, str]]:
    """Name and value of what is recorded; what is not is left out."""
    measured = settings.range
    unit = label(measured.unit, measured.reference) if measured else ""

    def in_unit(value: Decimal | None) -> str:
        return "" if value is None else f"{value:f} {unit}".strip()

    def with_unit(value: Decimal | int | None, symbol: str) -> str:
        return "" if value is None else f"{value} {symbol}"

    time = settings.time_unit
    per_minute = time == TimeUnit.REPEATS_PER_MINUTE
    band = settings.proportional_as == ProportionalAs.PROPORTIONAL_BAND
    facts = (
        ("Input", signal_label(settings.input_signal)),
        ("Range", str(measured or "")),
        ("Decimals", with_unit(settings.decimals, "")),
        ("Wires at the input", with_unit(settings.input_wires, "")),
        ("Cold junction", settings.cold_junction or ""),
        ("Square root", "extracted here" if settings.square_root else ""),
        ("Low-flow cut-off", with_unit(settings.low_cutoff_percent, "%")),
        ("Input filter", with_unit(settings.filter_s, "s")),
        ("Sensor break", settings.sensor_break or ""),
        ("Fault at or below", with_unit(settings.fault_below_ma, "mA")),
        ("Fault at or above", with_unit(settings.fault_above_ma, "mA")),
        ("Set-point source", settings.set_point_source or ""),
        ("Working in local", "yes" if settings.working_in_local else ""),
        ("Set point", in_unit(settings.set_point)),
        ("Lower set-point limit", in_unit(settings.set_point_low)),
        ("Upper set-point limit", in_unit(settings.set_point_high)),
        ("Remote set-point ratio", with_unit(settings.remote_ratio, "")),
        ("Remote set-point bias", in_unit(settings.remote_bias)),
        ("Control", settings.control or ""),
        ("Action", settings.action or ""),
        (
            "Proportional band" if band else "Gain",
            with_unit(settings.proportional, "%" if band else ""),
        ),
        ("Integral", with_unit(settings.integral, time or "")),
        ("Derivative", with_unit(settings.derivative, "min" if per_minute else time or "")),
        ("PID form", settings.pid_form or ""),
        ("Output low limit", with_unit(settings.output_low_percent, "%")),
        ("Output high limit", with_unit(settings.output_high_percent, "%")),
        ("Cycle time", with_unit(settings.cycle_time_s, "s")),
        *_serial(settings),
    )
    return ((name, value.strip()) for name, value in facts if value)


def _serial(settings: Settings) -> tuple[tuple[str, str], ...]:
    line = settings.serial
    if line is None:
        return ()
    framing = [f"{line.baud} bit/s" if line.baud else "", f"parity {line.parity}" if line.parity else ""]
    framing += [f"{line.stop_bits} stop bit{'s' * (line.stop_bits > 1)}" if line.stop_bits else "", line.mode]
    return (
        ("Bus", line.bus),
        ("Address", "" if line.address is None else str(line.address)),
        ("Line", ", ".join(filter(None, framing))),
        ("Terminating resistor", "" if line.terminated is None else ("fitted" if line.terminated else "not fitted")),
    )


def signal_label(key: str) -> str:
    """How a signal is written; a key that the register does not know stands as it is."""
    try:
        return signal(key).label if key else ""
    except UnknownSpelling:
        return key
