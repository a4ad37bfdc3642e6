from __future__ import annotations

from collections.abc import Iterator

from register.calc.accuracy import root_sum_of_squares
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import AlarmKind, Role, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.input_and_range.accuracy_budget_exceeded import error_of
from register.rules.numbers import quantity

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

    Remedy: move the trip, or make the measurement better.
    """
    measured = loop.range
    if measured is None:
        return
    for tag in loop.tags:
        for alarm in tag.alarms:
            if not alarm.trip or alarm.set_point is None or alarm.kind not in (*HIGH, *LOW):
                continue
            limit = loop.safe_high if alarm.kind in HIGH else loop.safe_low
            errors = [
                error
                for one in loop.tags
                if one.role in (Role.SENSOR, Role.TRANSMITTER, Role.CONTROLLER, Role.ALARM_UNIT)
                and (error := error_of(one, measured, alarm.set_point)) is not None
            ]
            uncertainty = root_sum_of_squares(errors)
            for what, value in (("the safe limit", limit), ("the working value", loop.normal_value)):
                if value is None or abs(float(value - alarm.set_point)) >= uncertainty:
                    continue
                yield finding(
                    tag,
                    "{alarm} at {trip} is {gap} from {what} {value}; the loop is good to {uncertainty}",
                    place=f"{alarm.name} and {what}",
                    alarm=alarm.name,
                    trip=quantity(alarm.set_point, measured),
                    gap=quantity(abs(value - alarm.set_point), measured),
                    what=what,
                    value=quantity(value, measured),
                    uncertainty=quantity(uncertainty, measured),
                )
