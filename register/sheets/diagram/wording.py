"""What a diagram writes beside its lines, in the words of the register. A missing fact is said to be missing."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.ranges import Range
from register.calc.signals import SIGNALS
from register.calc.units import label as unit_label
from register.plant.keying import signal_label
from register.plant.values import Alarm, Core, Model, Port, Tag
from register.plant.words import FailPosition, Purpose, Role, SetPointSource

NOT_RECORDED = "not recorded"
BOUND = "\N{NO-BREAK SPACE}"
"""Between what must not be parted at the end of a line."""

FAILS = {
    FailPosition.CLOSED: "fails closed (FC)",
    FailPosition.OPEN: "fails open (FO)",
    FailPosition.STAYS: "stays where it is (FL)",
}
"""ISA-5.1: what a final element does when its signal, air or power is lost."""

_SET_POINT_FROM = {
    SetPointSource.LOCAL: "local",
    SetPointSource.REMOTE: "remote",
    SetPointSource.LOCAL_OR_REMOTE: "local or remote",
    SetPointSource.DIGITAL_SELECT: "chosen by digital input",
}
_PLAIN_ROLES = (Role.SENSOR, Role.TRANSMITTER, Role.CONTROLLER)  # letters and the loop's service say what these do
_NEEDS_SUPPLY = (Role.CONTROLLER, Role.INDICATOR, Role.RECORDER, Role.ALARM_UNIT, Role.POWER_SUPPLY)


def number(value: Decimal) -> str:
    return f"{value:f}".replace("-", "−")


def range_label(of: Range) -> str:
    """The range, its upper end and unit never parted: "0–10 bar (gauge)"."""
    unit = unit_label(of.unit)
    return str(of).replace(f" {unit}", f"{BOUND}{unit}")


def value_with_unit(value: Decimal, of: Range | None) -> str:
    return f"{number(value)}{BOUND}{unit_label(of.unit, of.reference)}" if of else number(value)


def fail_position(tag: Tag) -> FailPosition | None:
    """As built, else the model's."""
    return tag.fail_position or (tag.model.fail_position if tag.model else None)


def device_lines(tag: Tag) -> list[str]:
    """What stands with a device's bubble."""
    return list(_device_lines(tag))


def _device_lines(tag: Tag) -> Iterator[str]:
    if tag.description and tag.role not in _PLAIN_ROLES:
        yield tag.description
    yield tag.place or f"place {NOT_RECORDED}"
    yield str(tag.model) if tag.model else f"model {NOT_RECORDED}"
    if not tag.asset:
        yield "no asset installed"
    if not tag.location:
        yield f"location {NOT_RECORDED}"
    if tag.supply_v is not None or tag.supply_kind or tag.role in _NEEDS_SUPPLY:
        yield f"{supply_label(tag)}, {fuse_label(tag)}"
    elif tag.fuse:
        yield fuse_label(tag)
    if tag.role == Role.FINAL_ELEMENT:
        fails = fail_position(tag)
        yield FAILS[fails] if fails else f"fail action {NOT_RECORDED}"
    if tag.role == Role.TRANSMITTER:
        yield f"on a fault {tag.fault_direction or NOT_RECORDED}"
    yield from _control(tag)
    yield from hazard_lines(tag)


def fuse_label(tag: Tag) -> str:
    return BOUND.join(("fuse", *(tag.fuse or NOT_RECORDED).split()))


def supply_label(tag: Tag) -> str:
    if tag.supply_v is None:
        return f"supply {tag.supply_kind or NOT_RECORDED}"
    return BOUND.join(filter(None, (number(tag.supply_v), "V", tag.supply_kind or "")))


def _control(tag: Tag) -> Iterator[str]:
    settings = tag.settings
    if tag.role != Role.CONTROLLER:
        return
    yield f"{settings.action} acting" if settings and settings.action else f"control action {NOT_RECORDED}"
    source = _SET_POINT_FROM.get(settings.set_point_source) if settings and settings.set_point_source else None
    if settings and settings.set_point is not None:
        value = value_with_unit(settings.set_point, tag.range)
        yield f"set point {value}, {source or f'source {NOT_RECORDED}'}"
    else:
        yield f"set point {source or NOT_RECORDED}"


def hazard_lines(tag: Tag) -> Iterator[str]:
    """The area around a tag and what is certified of the item there."""
    if tag.zone:
        yield " ".join(filter(None, ("zone", tag.zone, tag.gas_group)))
    ex = tag.model.ex if tag.model else None
    if ex and ex.simple_apparatus:
        yield "simple apparatus"
    elif ex:
        marking = " ".join(filter(None, (ex.protection, ex.gas_group, ex.temperature_class)))
        yield f"Ex {marking or NOT_RECORDED}, {ex.certificate or f'certificate {NOT_RECORDED}'}"
    elif tag.zone:
        yield f"certificate {NOT_RECORDED}"


def port_lines(tag: Tag | None, port: Port | None, name: str) -> list[str]:
    """What stands at a port's terminals: name, signal, range and what else its scaling needs."""
    if port is None:
        return [name or "through", f"port {NOT_RECORDED}"] if name else []
    lines = [name, signal_label(port.signal) if port.signal else f"signal {NOT_RECORDED}"]
    if port.range:
        lines.append(range_label(port.range))
    elif port.purpose in (Purpose.MEASUREMENT, Purpose.REMOTE_SET_POINT, Purpose.RETRANSMISSION) and _is_span(port):
        lines.append(f"range {NOT_RECORDED}")
    if port.reversed:
        lines.append("reversed")
    if port.square_root:
        lines.append("square root taken")
    if port.split_low_percent is not None and port.split_high_percent is not None:
        lines.append(f"for output {number(port.split_low_percent)}–{number(port.split_high_percent)}{BOUND}%")
    if tag:
        lines += [alarm_line(alarm, tag) for alarm in tag.alarms if alarm.output == port.name]
    return lines


def _is_span(port: Port) -> bool:
    return port.signal in SIGNALS and SIGNALS[port.signal].is_span


def alarm_line(alarm: Alarm, tag: Tag) -> str:
    value = value_with_unit(alarm.set_point, tag.range) if alarm.set_point is not None else f"set point {NOT_RECORDED}"
    name = "Alarm" if alarm.kind.startswith(alarm.name.casefold()) else f"{alarm.name}:"
    return f"{name} {alarm.kind} {value}{', trip' if alarm.trip else ''}"


def terminals_of(tag: Tag, port: Port | None) -> str:
    """Terminals as the place states them, else as the data sheet does."""
    if port is None:
        return ""
    offered = tag.model_port(port)
    return port.terminals or (offered.terminals if offered else "")


def board_line(tag: Tag, bay: str) -> str:
    """A bay and the board in it."""
    board = tag.asset.board_in(bay) if tag.asset else None
    return f"Bay {bay} · {board.model.name if board else 'no board'}"


def unwired_port_lines(tag: Tag, port: Port) -> list[str]:
    """A port that no link reaches, in as few lines as may be."""
    signal = signal_label(port.signal) if port.signal else f"signal {NOT_RECORDED}"
    terminals = terminals_of(tag, port)
    where = f"terminals {terminals}, no link" if terminals else "no link"
    alarms = [alarm_line(alarm, tag) for alarm in tag.alarms if alarm.output == port.name]
    return [f"{port.name}: {signal}, {where}", *alarms]


def empty_bay_line(model: Model | None, bay: str) -> str:
    offered = model.bay(bay) if model else None
    takes = f"takes {', '.join(offered.takes)}" if offered and offered.takes else f"what it takes is {NOT_RECORDED}"
    return f"Bay {bay} · no board, {takes}"


def core_label(core: Core) -> str:
    """Core, colour and polarity."""
    polarity = core.polarity.replace("-", "−") if core.polarity in ("+", "-") else core.polarity
    return " · ".join(filter(None, (core.core, core.colour, polarity)))


def cable_label(core: Core) -> str:
    cable = core.cable
    size = f"{cable.cores} × " if cable.cores else ""
    facts = (
        cable.name,
        cable.designation,
        f"{size}{number(cable.csa_mm2)} mm²" if cable.csa_mm2 is not None else "",
        f"{number(cable.length_m)} m" if cable.length_m is not None else "",
    )
    return " · ".join(filter(None, facts))


def screen_label(core: Core) -> str:
    earthed = core.cable.screen_earthed_at
    return f"screen · earthed at {' and '.join(earthed)}" if earthed else f"screen · earthing {NOT_RECORDED}"
