from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from register.calc.ranges import Range
from register.plant import sketch
from register.plant.keying import keying_order
from register.plant.values import Loop, Settings
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule

FORMS = ("proportional_as", "time_unit", "pid_form")
TUNING = ("proportional", "integral", "derivative", *FORMS)


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

    Tuning that was left in another form or unit is compared by a rule of its own. What was not noted is not compared.

    Why: the instrument does something else than the sheet says.

    Remedy: key in the required settings; if the others are better, make them the required ones.
    """
    for tag in loop.tags:
        required, left = tag.settings, tag.as_left
        if required is None or left is None:
            continue
        other_form = not all(alike(getattr(required, form), getattr(left, form)) for form in FORMS)
        for name in Settings.__struct_fields__:
            one, other = getattr(required, name), getattr(left, name)
            if (other_form and name in TUNING) or alike(one, other):
                continue
            yield finding(
                tag,
                "{name}: required {required}, left {left}",
                place=name.replace("_", " "),
                name=name.replace("_", " "),
                required=words(required, name),
                left=words(left, name),
            )


def alike(one: object, other: object) -> bool:
    """Whether two facts agree, or one of them is not recorded. Ranges agree in whatever unit they are written."""
    if one in (None, "") or other in (None, ""):
        return True
    if isinstance(one, Range) and isinstance(other, Range):
        return one.matches(other)
    return one == other


def words(settings: Settings, name: str) -> str:
    """A setting as one keys it in."""
    alone = Settings(**{name: getattr(settings, name)})
    if name != "range" and settings.range is not None:
        alone = replace(alone, range=settings.range)
    if name in TUNING:
        alone = replace(alone, time_unit=settings.time_unit, proportional_as=settings.proportional_as)
    said = [text for label, text in keying_order(alone) if name == "range" or label != "Range"]
    fact = getattr(settings, name)
    if name in ("proportional_as", "time_unit") or not said:
        return str(fact) if not isinstance(fact, bool) else "yes" if fact else "no"
    return ", ".join(said)
