from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Alarm, Loop
from register.plant.words import AlarmKind, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import difference, quantity
from register.rules.uncertainty import uncertainty

HIGH, LOW = (AlarmKind.HIGH, AlarmKind.HIGH_HIGH), (AlarmKind.LOW, AlarmKind.LOW_LOW)


@rule(
    "trip-too-close",
    severity=Severity.WARNING,
    source="ISA-67.04, set-point method",
    wrong=sketch.trip_loop(trip_at="249.0"),
    right=sketch.trip_loop(trip_at="246.0"),
)
def trip_too_close(loop: Loop) -> Iterator[Finding]:
    """Between a trip and the safe limit, and between the working value and the trip, lies the uncertainty of the loop.

    Why: a trip later than the limit, or one without cause.

    Remedy: move the trip by the plant's procedure for safety functions, or make the measurement better.
    """
    measured = loop.range
    if measured is None:
        return
    for tag in loop.tags:
        for alarm in tag.alarms:
            if not alarm.trip or alarm.set_point is None or alarm.kind not in (*HIGH, *LOW):
                continue
            if tag.range is None or not tag.range.comparable(measured):
                continue
            trip = tag.range.value_in(alarm.set_point, measured)
            gaps = {what: gap for what, gap in gaps_of(loop, alarm, trip).items() if gap is not None}
            if not gaps:
                continue
            found = uncertainty(loop, measured, trip, reader=tag)
            for what, (gap, value) in gaps.items():
                stated = {
                    "alarm": alarm.name,
                    "trip": quantity(trip, measured),
                    "what": what,
                    "value": quantity(value, measured),
                }
                if float(gap) < found.total - 1e-9 or gap <= 0:
                    yield finding(
                        tag,
                        "{alarm} at {trip} is {gap} from {what} {value}; the loop is good to {uncertainty}"
                        if gap > 0
                        else "{alarm} at {trip} lies beyond {what} {value}",
                        place=f"{alarm.name} and {what}",
                        gap=difference(gap, measured),
                        uncertainty=difference(found.total, measured),
                        **stated,
                    )
                elif found.missing:
                    yield unknown(
                        tag,
                        "{alarm} at {trip} is {gap} from {what} {value}; of the errors on the way, {missing} is not "
                        "recorded",
                        place=f"{alarm.name} and {what}",
                        gap=difference(gap, measured),
                        missing=" and ".join(found.missing),
                        **stated,
                    )


def gaps_of(loop: Loop, alarm: Alarm, trip) -> dict[str, tuple | None]:
    """How far the trip lies before the safe limit and beyond the working value, and that value; None: not recorded."""
    sign = 1 if alarm.kind in HIGH else -1
    limit = loop.safe_high if alarm.kind in HIGH else loop.safe_low
    normal = loop.normal_value
    return {
        "the safe limit": None if limit is None else (sign * (limit - trip), limit),
        "the working value": None if normal is None else (sign * (trip - normal), normal),
    }
