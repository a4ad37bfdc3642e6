from __future__ import annotations

from collections.abc import Iterator

from register.calc.errors import CalculationError
from register.calc.identity import parse_tag
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Role, Severity
from register.rules.engine import Finding, finding, rule

SHARED = (Role.POWER_SUPPLY, Role.SET_POINT_SOURCE)


@rule(
    "member-of-another-loop",
    severity=Severity.ERROR,
    source="ANSI/ISA-5.1-2009",
    wrong=sketch.renamed(sketch.temperature_loop(), "TV-101", "TV-102"),
    right=sketch.temperature_loop(),
)
def member_of_another_loop(loop: Loop) -> Iterator[Finding]:
    """All members of a loop carry its number, and the prefix of its plant unit where both have one.

    Why: the wrong loop is isolated.

    Remedy: rename the tag, or move it to the loop whose number it carries.
    """
    try:
        own = parse_tag(loop.number)
    except CalculationError:
        return
    for tag in loop.tags:
        if tag.role in SHARED:
            continue
        try:
            name = parse_tag(tag.name)
        except CalculationError:
            continue  # another rule says that the name cannot be read
        other_unit = name.prefix and own.prefix and name.prefix != own.prefix
        if name.loop_number != own.loop_number or other_unit:
            mine = f"{name.prefix}-{name.number}" if other_unit else name.number
            yield finding(tag, "its number is {mine}, the loop is {loop}", mine=mine, loop=loop.number)
