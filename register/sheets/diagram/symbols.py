"""Which symbol stands for a tag, and the split of its name that its bubble shows."""

from __future__ import annotations

from register.calc.errors import CalculationError
from register.calc.identity import parse_tag
from register.calc.signals import SIGNALS
from register.plant.values import Tag
from register.plant.words import LoadKind, Role

_OF_LOAD = {
    LoadKind.RESISTIVE: "heater",
    LoadKind.ELECTRONIC: "heater",
    LoadKind.COIL: "contactor",
    LoadKind.MOTOR: "motor",
    LoadKind.LAMP: "lamp",
}


def letters_and_number(name: str) -> tuple[str, str]:
    """The two lines in a bubble. A name that is not letters and a number stands on one line.

    >>> letters_and_number("TIC-101"), letters_and_number("10-PDT-0203A")
    (('TIC', '101'), ('PDT', '0203A'))
    """
    try:
        parts = parse_tag(name)
    except CalculationError:
        return name, ""
    return parts.letters, parts.number + parts.suffix


def bubble_says_all(name: str) -> bool:
    """Whether letters and number are the whole of a tag's name."""
    letters, number = letters_and_number(name)
    return bool(number) and name.upper() in (f"{letters}-{number}", f"{letters}{number}", f"{letters} {number}")


def symbol_of(tag: Tag) -> str:
    """The symbol beside a tag's bubble; none where the bubble says all."""
    kinds = {SIGNALS[port.signal].kind for port in tag.ports if port.signal in SIGNALS}
    match tag.role:
        case Role.SENSOR if "thermocouple" in kinds:
            return "thermocouple"
        case Role.SENSOR if "resistance thermometer" in kinds:
            return "resistance thermometer"
        case Role.SENSOR:
            return "sensor"
        case Role.TRANSMITTER | Role.SIGNAL_CONDITIONER:
            return "converter"
        case Role.POWER_SUPPLY:
            return "power supply"
        case Role.FINAL_ELEMENT:
            return _final_element(tag)
    return ""


def _final_element(tag: Tag) -> str:
    """By its letters (ISA-5.1: V valve, damper), else by what it is to the output that switches it."""
    loads = [
        offered.load_kind for port in tag.ports if (offered := tag.model_port(port)) is not None and offered.load_kind
    ]
    letters, _ = letters_and_number(tag.name)
    if letters.upper().endswith("V"):
        return "solenoid valve" if LoadKind.COIL in loads else "valve"
    return _OF_LOAD[loads[0]] if loads else "final element"
