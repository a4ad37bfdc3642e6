from __future__ import annotations

from collections.abc import Iterator

from register.calc.control import action_is_right, action_needed
from register.plant import sketch
from register.plant.values import Connection, Loop, Tag
from register.plant.words import Action, ControlForm, Direction, OnOpening, OnRisingSignal, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown

CONTROLLING = (ControlForm.SINGLE, ControlForm.ON_OFF, ControlForm.HEAT_COOL, ControlForm.MOTORISED_VALVE)
PROCESS = {OnOpening.RISES: 1, OnOpening.FALLS: -1}


@rule(
    "sign-round-the-loop",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.temperature_loop(), "TIC-101", action=Action.DIRECT),
    right=sketch.temperature_loop(),
)
def sign_round_the_loop(loop: Loop) -> Iterator[Finding]:
    """Going once round the loop, controller, final element and process, the product of the signs is negative.

    A second, cooling output rises as more of it is asked for, so its element opens as the signal rises. Elements on
    parts of one output are left out: they act both ways.

    Why: with a positive sign the loop runs to one end at once.

    Remedy: turn the controller's action round. Change one element, and the action must follow.
    """
    for tag in loop.controllers:
        settings = tag.settings
        if settings is None or settings.control not in CONTROLLING:
            continue
        for purpose in (Purpose.CONTROL, Purpose.COOLING_CONTROL):
            for element, inverted, port in elements(loop, tag, purpose):
                yield from judged(loop, tag, purpose, element, inverted, port)


def judged(loop: Loop, tag: Tag, purpose: Purpose, element: Tag, inverted: bool, port: str) -> Iterator[Finding]:
    valve, action = on_rising_signal(element), tag.settings.action
    missing = [] if valve else [f"whether {element.name} opens or closes as its signal rises"]
    if purpose == Purpose.CONTROL:
        missing += [] if action else ["the controller's action"]
        missing += [] if loop.on_opening else [f"what the measured value does as {element.name} opens"]
    if missing:
        yield unknown(tag, "{missing} is not recorded", place=port, missing=", ".join(missing))
    elif purpose == Purpose.COOLING_CONTROL:
        if (valve == OnRisingSignal.OPENS) == inverted:
            yield finding(
                tag,
                "{port} rises as more cooling is asked for, and {element} closes as it rises",
                place=port,
                port=port,
                element=element.name,
            )
    elif not action_is_right(action, valve, PROCESS[loop.on_opening], inverted):
        yield finding(
            tag,
            "its action is {action}; {element} {valve} as its signal rises and the measured value {process} as it "
            "opens{turned}, so it must be {needed}",
            place=port,
            action=action,
            element=element.name,
            valve=valve,
            process=loop.on_opening,
            turned=", with the signal reversed on the way" if inverted else "",
            needed=action_needed(valve, PROCESS[loop.on_opening], inverted),
        )


def elements(loop: Loop, tag: Tag, purpose: Purpose) -> Iterator[tuple[Tag, bool, str]]:
    """Final elements on a controller's outputs, whether the signal is turned on the way, and the first port's name."""
    ends: list[tuple[Connection, bool, str]] = [
        (one, False, one.source.name)
        for one in loop.links_out_of(tag, purpose)
        if one.source.direction == Direction.OUT
    ]
    seen = {tag.name}
    while ends:
        one, inverted, port = ends.pop(0)
        inverted ^= one.source.reversed != one.target.reversed
        element = one.target_tag
        if element.name in seen or one.target.split_low_percent is not None:
            continue
        seen.add(element.name)
        if element.role == Role.FINAL_ELEMENT:
            yield element, inverted, port
        elif element.role == Role.SIGNAL_CONDITIONER:
            ends += [(after, inverted, port) for after in loop.links_out_of(element, purpose)]


def on_rising_signal(element: Tag) -> OnRisingSignal | None:
    """As built where that is recorded, else by the model."""
    return element.on_rising_signal or (element.model.on_rising_signal if element.model else None)
