"""Whether a model can stand in for another wherever that is used, by the two data sheets: pure values.

Stricter than what fits at one place, where the rules judge the whole loop: here every fact that the data sheet of the
other states must be met, whatever the loops make of it. What was keyed in and the terminals' names are not compared.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from register.calc.errors import CalculationError
from register.calc.ranges import Range
from register.plant.fitting import assigned, bays_for
from register.plant.values import FittedBoard, Model, ModelPort
from register.plant.words import ModelKind, SupplyKind

AT_THE_PROCESS = (ModelKind.SENSOR, ModelKind.TRANSMITTER, ModelKind.FINAL_ELEMENT)
"""Kinds that also need the right bore, length and connection, of which no data sheet here speaks."""

SAME = [
    "family",
    "front_width_mm",
    "front_height_mm",
    "wires",
    "tolerance_class",
    "construction",
    "accuracy_basis",
    "on_rising_signal",
    "fail_position",
]
AT_MOST = ["depth_mm", "accuracy", "minimum_span", "series_resistance_ohm"]
AT_LEAST = ["ambient_max_c", "display_digits", "element_count"]
IF_THERE = ["square_root", "heat_cool", "isolates"]

PORT_SAME = ["supplies_loop", "load_kind", "failure_low_ma", "failure_high_ma"]
PORT_AT_MOST = [
    "resistance_ohm",
    "supply_resistance_ohm",
    "min_terminal_v",
    "leakage_ma",
    "load_v_min",
    "load_a",
    "unit_load",
]
PORT_AT_LEAST = [
    "max_load_ohm",
    "supply_v",
    "supply_max_ma",
    "max_terminal_v",
    "contact_v",
    "contact_a",
    "contact_inductive_a",
    "drive_v",
    "drive_ma",
    "load_v_max",
]
PORT_IF_THERE = ["isolated", "digital_on_current"]


def why_not_instead(spare: Model, other: Model, boards_in_use: Iterable[tuple[FittedBoard, ...]] = ()) -> Iterator[str]:
    """What keeps a model from standing in for another, fact by fact; nothing where it can.

    ``boards_in_use`` are the sets of boards with which the other is fitted in the plant: all of each must find a bay.
    What the data sheet of the other does not state is not asked for.
    """
    if spare.kind != other.kind:
        yield f"is a {spare.kind}"
        return
    if other.kind in AT_THE_PROCESS:
        yield "the catalogue does not know the process connection"
        return
    yield from _facts(spare, other, SAME, AT_MOST, AT_LEAST, IF_THERE)
    if spare.one_per_controller and not other.one_per_controller:
        yield "a controller takes only one"
    if other.range_limits and not _holds(spare.range_limits, other.range_limits):
        yield f"range limits {spare.range_limits or 'not recorded'}, not {other.range_limits}"
    if other.supply_low_v is not None and not _takes_supply(spare, other):
        yield "takes another supply"
    if other.ex is not None and _certified(spare) != _certified(other):
        yield "is certified otherwise for hazardous areas"
    unmatched = _ports_without_counterpart(spare, other)
    if unmatched:
        yield f"has no such {', '.join(unmatched)}"
    if any(len(bays_for(boards, spare)) < len(boards) for boards in boards_in_use):
        yield "has no bay for every board in use"


def _facts(spare, other, same: list[str], at_most: list[str], at_least: list[str], if_there: list[str]):
    for name in same:
        wanted, given = getattr(other, name), getattr(spare, name)
        if not _blank(wanted) and given != wanted:
            yield _differs(name, given, wanted)
    for names, sign in ((at_most, -1), (at_least, 1)):
        for name in names:
            wanted, given = getattr(other, name), getattr(spare, name)
            if wanted is not None and (given is None or sign * given < sign * wanted):
                yield _differs(name, given, wanted)
    for name in if_there:
        if getattr(other, name) and not getattr(spare, name):
            yield f"lacks: {name.replace('_', ' ')}"


def _blank(fact: object) -> bool:
    return fact is None or fact == ""


def _differs(name: str, given: object, wanted: object) -> str:
    return f"{name.replace('_', ' ')} {'not recorded' if _blank(given) else given}, not {wanted}"


def _holds(mine: Range | None, theirs: Range) -> bool:
    try:
        return mine is not None and mine.contains_range(theirs)
    except CalculationError:
        return False


def _takes_supply(spare: Model, other: Model) -> bool:
    if None in (spare.supply_low_v, spare.supply_high_v, other.supply_high_v):
        return False
    right_kind = spare.supply_kind in (other.supply_kind, SupplyKind.AC_OR_DC)
    return right_kind and spare.supply_low_v <= other.supply_low_v and other.supply_high_v <= spare.supply_high_v


def _certified(model: Model):
    return model.ex and replace(model.ex, certificate="")


def _ports_without_counterpart(spare: Model, other: Model) -> list[str]:
    """The ports of the other for which the spare has none left that does as much."""

    def choices(port: ModelPort) -> list[str]:
        return [f"{one.direction} {one.name}" for one in spare.ports if _does_as_much(one, port)]

    matched = [f"{port.direction} {port.name}" for port in assigned(other.ports, choices).values()]
    return [
        f"{port.direction}put {port.name}" for port in other.ports if f"{port.direction} {port.name}" not in matched
    ]


def _does_as_much(mine: ModelPort, theirs: ModelPort) -> bool:
    if mine.direction != theirs.direction or not set(theirs.purposes) <= set(mine.purposes):
        return False
    if any(_facts(mine, theirs, PORT_SAME, PORT_AT_MOST, PORT_AT_LEAST, PORT_IF_THERE)):
        return False
    for wanted in theirs.signals:
        given = mine.signal(wanted.signal)
        if given is None or (given.limits and (wanted.limits is None or not _holds(given.limits, wanted.limits))):
            return False
    return True
