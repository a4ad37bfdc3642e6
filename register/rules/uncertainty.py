"""How good a loop's measurement is: the error of each part of its chain, brought to the unit of the loop's range."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from register.calc import accuracy, rtd, thermocouples
from register.calc.errors import CalculationError
from register.calc.ranges import Range
from register.calc.signals import flow_percent
from register.calc.units import convert_difference
from register.plant.values import Loop, Model, Tag
from register.plant.words import AccuracyBasis, Purpose, Role
from register.rules.input_and_range.root_not_extracted_once import is_head_to_flow
from register.rules.reading import SENSOR_KINDS
from register.rules.temperatures import in_celsius
from register.rules.wiring import conductors_ohm

READERS = (Role.CONTROLLER, Role.INDICATOR, Role.ALARM_UNIT, Role.RECORDER)


@dataclass(frozen=True)
class Uncertainty:
    """Errors by tag and known one-sided effects, in the unit of the loop's range; and what is not recorded of them."""

    errors: dict[str, float]
    biases: dict[str, float]
    missing: tuple[str, ...]

    @property
    def total(self) -> float:
        return accuracy.root_sum_of_squares([*self.errors.values()], [*self.biases.values()])


def uncertainty(loop: Loop, measured: Range, at: Decimal, reader: Tag | None = None) -> Uncertainty:
    """What the chain that ends at a reader (the loop's main one) makes of a value of the loop's range."""
    errors: dict[str, float] = {}
    biases: dict[str, float] = {}
    missing = []
    for tag in chain(loop, reader or main_reader(loop, measured)):
        try:
            error = _error(tag, measured, at)
        except CalculationError as fault:
            missing.append(f"that of {tag.name} ({fault})")
            continue
        if error is None:
            missing.append(f"that of {tag.name}")
        else:
            errors[tag.name] = error
        if tag.role == Role.SENSOR and (bias := _lead_error(loop, tag, measured, at)):
            biases[f"leads of {tag.name}"] = bias
    return Uncertainty(errors, biases, tuple(sorted(missing)))


def main_reader(loop: Loop, measured: Range) -> Tag | None:
    """The reader whose range is the loop's."""
    readers = [tag for tag in loop.with_role(*READERS) if tag.range == measured]
    return min(readers, key=lambda tag: (READERS.index(tag.role), tag.name)) if readers else None


def chain(loop: Loop, reader: Tag | None) -> list[Tag]:
    """A reader and what its measurement comes through, back to the sensor."""
    if reader is None:
        return sorted(loop.with_role(Role.SENSOR, Role.TRANSMITTER), key=lambda tag: tag.name)
    found = {reader.name: reader}
    last = [reader]
    while last:
        tag = last.pop()
        for one in loop.links_into(tag, Purpose.MEASUREMENT):
            if one.source.purpose == Purpose.MEASUREMENT and one.source_tag.name not in found:
                found[one.source_tag.name] = one.source_tag
                last.append(one.source_tag)
    return [found[name] for name in sorted(found)]


def _error(tag: Tag, measured: Range, at: Decimal) -> float | None:
    """A tag's error in the unit of the range at a value; None where its data sheet gives none."""
    model = tag.model
    if model is None:
        return None
    if tag.role == Role.SENSOR:
        return _sensor_error(tag, model, measured, at)
    if model.accuracy is None:
        # a passive barrier only carries the current on; a board or a recorder without a figure is missing one
        return 0.0 if tag.role == Role.SIGNAL_CONDITIONER and not model.isolates else None
    share, basis = abs(float(model.accuracy)), model.accuracy_basis
    if basis == AccuracyBasis.READING:
        return accuracy.of_reading(share, float(at))
    if basis == AccuracyBasis.UNIT:
        return _difference(share, model.range_limits or tag.range or measured, measured)
    if basis == AccuracyBasis.UPPER_LIMIT:
        limits = model.range_limits
        if limits is None or not limits.comparable(measured):
            return None
        return accuracy.of_reading(share, float(limits.value_in(limits.high, measured)))
    own = tag.range or measured
    if own.comparable(measured):
        return _difference(accuracy.of_span(share, float(own.span)), own, measured)
    if is_head_to_flow(own, measured):
        # the square law at the working value: a flow fraction of x is a head of x²
        flow = float(measured.percent(at))
        head = flow * flow / 100
        return (flow_percent(head + share, 1) - flow) * float(measured.span) / 100
    return accuracy.of_span(share, float(measured.span))


def _difference(value: float, of: Range, measured: Range) -> float | None:
    if of.dimension != measured.dimension:
        return None
    return float(convert_difference(Decimal(str(value)), of.unit, measured.unit))


def _element_signal(tag: Tag) -> str:
    return next((port.signal for port in tag.ports if port.signal.startswith(SENSOR_KINDS)), "")


def _sensor_error(tag: Tag, model: Model, measured: Range, at: Decimal) -> float | None:
    """The tolerance of a sensor's class in the unit of the range. Raises CalculationError outside the class."""
    signal = _element_signal(tag)
    if not signal or not model.tolerance_class or measured.dimension != "temperature":
        return None
    t_c = in_celsius(at, measured)
    if signal.startswith("tc-"):
        tolerance = thermocouples.tolerance_k(signal[3:], model.tolerance_class, t_c)
    else:
        tolerance = rtd.tolerance_k(model.tolerance_class, t_c, model.construction or "wire wound")
    return float(convert_difference(Decimal(str(tolerance)), "CEL", measured.unit))


def _lead_error(loop: Loop, tag: Tag, measured: Range, at: Decimal) -> float:
    """What the leads of a two-wire platinum element add, as far as they are recorded."""
    signal = _element_signal(tag)
    if not signal.startswith("pt") or tag.model is None or tag.model.wires != 2 or measured.dimension != "temperature":
        return 0.0
    leads = sum(conductors_ohm(one.link) or 0.0 for one in loop.links_out_of(tag, Purpose.MEASUREMENT))
    try:
        element = rtd.element(signal)
        error = rtd.lead_error_k(in_celsius(at, measured), leads, element.r0_ohm, element.curve)
    except CalculationError:
        return 0.0
    return float(convert_difference(Decimal(str(error)), "CEL", measured.unit))
