"""A loop in other units: the same plant, written down by somebody who thinks in °F, kPa and mm."""

from __future__ import annotations

from decimal import Decimal

from msgspec.structs import replace

from register.calc.ranges import Range
from register.calc.units import convert, convert_difference
from register.plant.values import Alarm, Loop, Port, Settings, Tag
from register.plant.words import AlarmKind

OTHER = {"CEL": "FAH", "BAR": "KPA", "MBR": "PAL", "MTR": "MMT", "KPA": "BAR"}
SHIFTED_DIGITS = {"BAR": 2, "MBR": 2, "MTR": 3, "KPA": -2}
"""By how many places the point moves to the right."""
ABSOLUTE = (AlarmKind.LOW_LOW, AlarmKind.LOW, AlarmKind.HIGH, AlarmKind.HIGH_HIGH)


def in_other_units(loop: Loop) -> Loop:
    measured = loop.range
    facts = {
        name: _value(getattr(loop, name), measured) for name in ("normal_value", "safe_low", "safe_high") if measured
    }
    facts["required_accuracy"] = _difference(loop.required_accuracy, measured)
    return replace(loop, tags=tuple(map(_tag, loop.tags)), neighbours=tuple(map(_tag, loop.neighbours)), **facts)


def _tag(tag: Tag) -> Tag:
    calibration = tag.calibration
    if calibration and calibration.range:
        calibration = replace(calibration, range=_range(calibration.range))
    return replace(
        tag,
        settings=tag.settings and _settings(tag.settings),
        as_left=tag.as_left and _settings(tag.as_left),
        ports=tuple(_port(port) for port in tag.ports),
        alarms=tuple(_alarm(alarm, tag.range) for alarm in tag.alarms),
        calibration=calibration,
    )


def _settings(settings: Settings) -> Settings:
    measured = settings.range
    if measured is None or measured.unit not in OTHER:
        return settings
    decimals = settings.decimals
    if decimals is not None:
        decimals = max(0, decimals - SHIFTED_DIGITS.get(measured.unit, 0))
    return replace(
        settings,
        range=_range(measured),
        decimals=decimals,
        set_point=_value(settings.set_point, measured),
        set_point_low=_value(settings.set_point_low, measured),
        set_point_high=_value(settings.set_point_high, measured),
        remote_bias=_difference(settings.remote_bias, measured),
    )


def _alarm(alarm: Alarm, measured: Range | None) -> Alarm:
    set_point = _value if alarm.kind in ABSOLUTE else _difference
    return replace(
        alarm, set_point=set_point(alarm.set_point, measured), deadband=_difference(alarm.deadband, measured)
    )


def _port(port: Port) -> Port:
    return replace(port, range=port.range and _range(port.range))


def _range(of: Range) -> Range:
    return of.to(OTHER.get(of.unit, of.unit))


def _value(value: Decimal | None, of: Range | None) -> Decimal | None:
    return value if value is None or of is None else convert(value, of.unit, OTHER.get(of.unit, of.unit))


def _difference(value: Decimal | None, of: Range | None) -> Decimal | None:
    return value if value is None or of is None else convert_difference(value, of.unit, OTHER.get(of.unit, of.unit))
