"""What a laboratory's certificate proposes for the form: its own points, as found, and what to look at twice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from register.calc.calibration import FIVE_POINTS
from register.calc.errors import CalculationError
from register.calc.ranges import Range
from register.calc.units import convert, convert_difference, unit
from register.calc.units import label as unit_label
from register.exchange.dcc import Certificate, Quantity, Result
from register.models.calibrations import Way
from register.plant.check_points import MOST_POINTS, Check, check_of
from register.plant.values import Loop, Tag
from register.services.calibrating import field_of


@dataclass(frozen=True)
class Proposal:
    """Values of the form's fields by name, the points of the certificate, and remarks for the person who checks it."""

    certificate: Certificate
    percents: tuple[float, ...]
    initial: dict[str, object]
    remarks: tuple[str, ...]


def propose(certificate: Certificate, loop: Loop, tag: Tag) -> Proposal:
    """Raises NothingToCheck where the tag itself lacks what a check needs."""
    check = check_of(loop, tag)
    initial = {
        "on": certificate.performed_on,
        "by_whom": ", ".join(filter(None, (certificate.laboratory, certificate.signed_by)))[:80],
        "standard": "; ".join(certificate.equipment)[:120],
        "certificate": certificate.identifier[:80],
        "reason": "Calibrated by a laboratory",
    }
    remarks = list(_of_the_item(certificate, tag))
    result = next((one for one in certificate.results if _is_of(one.reference, check.range)), None)
    if result is None:
        written = ", ".join(dict.fromkeys(one.reference.written for one in certificate.results))
        remarks.append(f"The certificate speaks in {written}, the range of {tag.name} is {check.range}: type it in.")
        return Proposal(certificate, FIVE_POINTS, initial, tuple(remarks))
    points, further = _points(result, check.range)
    if further:
        remarks.append(f"{further} of its points lie outside {check.range} or do not rise; they are left out.")
    percents = FIVE_POINTS
    if len(points) >= 2:
        check = check_of(loop, tag, [percent for percent, _ in points])
        percents = check.percents
        initial |= _readings(check, result, points)
        if result.measured and unit(result.measured.unit or result.reference.unit).symbol != check.expected.symbol:
            remarks.append(
                f"The certificate states what was indicated in {unit_label(result.reference.unit)}; the readings here "
                f"are the {check.expected.symbol} that stand for it."
            )
    else:
        remarks.append("Fewer than two of its points lie within the range: type in what was read.")
    initial |= _figures(result, check.range)
    factor = f", coverage factor {result.coverage_factor:f}" if result.coverage_factor else ""
    remarks.append(f"The uncertainty is that of the whole calibration as the laboratory states it{factor}.")
    return Proposal(certificate, percents, initial, tuple(remarks))


def _of_the_item(certificate: Certificate, tag: Tag) -> Iterator[str]:
    numbers = [one.value for one in certificate.identifications]
    if tag.asset is None:
        yield f"Nothing is recorded as installed at {tag.name}, so the item of the certificate cannot be compared."
    elif tag.asset.serial not in numbers and tag.asset.code not in numbers:
        yield (
            f"The certificate is of another item: it names {', '.join(numbers) or 'no number'}, and {tag.asset.serial} "
            f"stands at {tag.name}."
        )
    verdicts = {word for one in certificate.results for word in one.conformity} | {certificate.conformity} - {""}
    if verdicts - {"pass"}:
        yield f"The laboratory's own verdict is: {', '.join(sorted(verdicts))}. Here it is worked out again."


def _is_of(quantity: Quantity, measured: Range) -> bool:
    return bool(quantity.unit) and unit(quantity.unit).dimension == measured.dimension


def _points(result: Result, measured: Range) -> tuple[list[tuple[float, int]], int]:
    """Per cent and position of each point that rises within the range, and how many do not."""
    taken: list[tuple[float, int]] = []
    for position, value in enumerate(result.reference.values):
        try:
            percent = float(f"{measured.percent(convert(value, result.reference.unit, measured.unit)):.6g}")
        except CalculationError:
            continue
        if len(taken) < MOST_POINTS and 0 <= percent <= 100 and (not taken or percent > taken[-1][0]):
            taken.append((percent, position))
    return taken, len(result.reference.values) - len(taken)


def _readings(check: Check, result: Result, points: list[tuple[float, int]]) -> dict[str, Decimal]:
    """What was indicated at each point, in the unit in which the check is read."""
    shown = {}
    measured = result.measured
    if measured is None or len(measured.values) != len(result.reference.values):
        return shown
    for percent, position in points:
        value = measured.values[position]
        if measured.unit and unit(measured.unit).symbol == check.expected.symbol:
            reading = value
        elif _is_of(measured, check.range):
            try:
                indicated = check.range.percent(convert(value, measured.unit, check.range.unit))
                reading = check.expected.shown(float(indicated), further=2)
            except CalculationError:
                continue
        else:
            continue
        shown[field_of("as_found", Way.UP, percent)] = reading
    return shown


def _figures(result: Result, measured: Range) -> dict[str, Decimal]:
    """Tolerance, the narrowest of the limits, and uncertainty, the widest, in per cent of span."""
    limits = [_percents(one, measured) for one in (result.lower_limit, result.upper_limit)]
    narrowest = min((abs(one) for side in limits for one in side), default=None)
    widest = max(_percents(result.uncertainty, measured), default=None)
    found = {"tolerance_percent": narrowest, "standard_uncertainty_percent": widest}
    return {name: Decimal(f"{figure:.4g}") for name, figure in found.items() if figure}


def _percents(quantity: Quantity | None, measured: Range) -> list[Decimal]:
    if quantity is None or not _is_of(quantity, measured):
        return []
    try:
        return [convert_difference(one, quantity.unit, measured.unit) * 100 / measured.span for one in quantity.values]
    except CalculationError:
        return []
