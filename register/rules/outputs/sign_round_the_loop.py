from __future__ import annotations

from collections.abc import Iterator

from register.calc.control import action_is_right, action_needed
from register.plant import sketch
from register.plant.values import Loop, Tag
from register.plant.words import Action, ControlForm, OnOpening, OnRisingSignal, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown

SINGLE = (ControlForm.SINGLE, ControlForm.ON_OFF)


@rule(
    "sign-round-the-loop",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.temperature_loop(), "TIC-101", action=Action.DIRECT),
    right=sketch.temperature_loop(),
)
def sign_round_the_loop(loop: Loop) -> Iterator[Finding]:
    """Going once round the loop, controller, final element and process, the product of the signs is negative.

    Why: with a positive one the loop runs to one end at once.

    Remedy: turn the controller's action round. Change one element, and the action must follow.
    """
    for tag in loop.controllers:
        settings = tag.settings
        if settings is None or settings.action is None or settings.control not in SINGLE:
            continue
        for one in loop.links_out_of(tag, Purpose.CONTROL):
            element = one.target_tag
            if element.role != Role.FINAL_ELEMENT or one.target.split_low_percent is not None:
                continue
            valve = on_rising_signal(element)
            if valve is None:
                yield unknown(element, "whether it opens or closes as its signal rises is not recorded")
            elif loop.on_opening is None:
                yield unknown(
                    loop, "whether the measured value rises or falls as the final element opens is not recorded"
                )
            else:
                process = 1 if loop.on_opening == OnOpening.RISES else -1
                inverted = one.source.reversed != one.target.reversed
                if not action_is_right(settings.action, valve, process, inverted):
                    yield finding(
                        tag,
                        "its action is {action}; {element} {valve} as its signal rises and the measured value "
                        "{process} as it opens, so it must be {needed}",
                        action=settings.action,
                        element=element.name,
                        valve=valve,
                        process=loop.on_opening,
                        needed=action_needed(valve, process, inverted),
                    )


def on_rising_signal(element: Tag) -> OnRisingSignal | None:
    """As built where that is recorded, else by the model."""
    return element.on_rising_signal or (element.model.on_rising_signal if element.model else None)
