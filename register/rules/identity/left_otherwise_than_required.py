from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from register.calc.ranges import Range
from register.plant import sketch
from register.plant.keying import keying_order
from register.plant.values import Loop, Settings
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


def _left(loop: Loop, **settings) -> Loop:
    return sketch.with_tag(loop, "TIC-101", as_left=replace(loop.tag("TIC-101").settings, **settings))


@rule(
    "left-otherwise-than-required",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=_left(sketch.temperature_loop(), range=sketch.span("0-220 degC")),
    right=_left(sketch.temperature_loop()),
)
def left_otherwise_than_required(loop: Loop) -> Iterator[Finding]:
    """The settings that were left in an instrument are those that its tag requires.

    Why: the instrument does something else than the sheet says.

    Remedy: key in the required settings; if the others are better, make them the required ones.
    """
    for tag in loop.tags:
        if tag.settings is None or tag.as_left is None:
            continue
        required, left = dict(keying_order(tag.settings)), dict(keying_order(tag.as_left))
        for name in {**required, **left}:
            if required.get(name, "") != left.get(name, "") and not same_range(name, tag.settings, tag.as_left):
                yield finding(
                    tag,
                    "{name}: required {required}, left {left}",
                    place=name,
                    name=name,
                    required=required.get(name, "nothing"),
                    left=left.get(name, "nothing"),
                )


def same_range(name: str, required: Settings, left: Settings) -> bool:
    """Whether two ranges that are written differently are one."""
    return (
        name == "Range"
        and isinstance(required.range, Range)
        and left.range is not None
        and required.range.matches(left.range)
    )
