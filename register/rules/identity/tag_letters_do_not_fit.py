from __future__ import annotations

from collections.abc import Iterator

from register.calc.errors import CalculationError
from register.calc.identity import fits_variable, letter_meaning, parse_tag, read_letters
from register.plant import sketch
from register.plant.values import Loop, Tag
from register.plant.words import Role, Severity
from register.rules.engine import Finding, finding, rule

FUNCTIONS = {
    Role.SENSOR: "EW",
    Role.TRANSMITTER: "T",
    Role.CONTROLLER: "C",
    Role.FINAL_ELEMENT: "VZCSY",
    Role.INDICATOR: "I",
    Role.RECORDER: "R",
    Role.ALARM_UNIT: "AS",
}
"""Letters one of which a tag of a role bears among its functions; roles that are missing take any."""


@rule(
    "tag-letters-do-not-fit",
    severity=Severity.WARNING,
    source="ANSI/ISA-5.1-2009, table 4.1",
    wrong=sketch.renamed(sketch.pressure_loop(), "PT-201", "TT-201"),
    right=sketch.pressure_loop(),
)
def tag_letters_do_not_fit(loop: Loop) -> Iterator[Finding]:
    """A tag's letters name the variable that it measures and the function that it has.

    Why: the wrong device is drawn from the store or isolated in the field.

    Remedy: rename the tag by the table of identification letters, or correct its role or range.
    """
    for tag in loop.tags:
        try:
            name = parse_tag(tag.name)
            functions = read_letters(name.letters).functions
        except CalculationError as fault:
            yield finding(tag, "{fault}", place="letters", fault=fault)
            continue
        if tag.range and measures(tag) and not fits_variable(name.variable, tag.range.dimension, tag.range.reference):
            yield finding(
                tag,
                "{letter} stands for {variable}, but its range {range} is of {dimension}",
                place="variable",
                letter=name.variable,
                variable=letter_meaning(name.variable, "first"),
                range=tag.range,
                dimension=tag.range.dimension,
            )
        wanted = FUNCTIONS.get(tag.role, "")
        if wanted and not set(wanted) & set(functions):
            yield finding(
                tag,
                "its role is {role}, but {letters} has no {wanted} among its functions",
                place="function",
                role=tag.role,
                letters=name.letters,
                wanted=" or ".join(wanted),
            )


def measures(tag: Tag) -> bool:
    """Whether the tag's range is that of its variable; a final element's is of its signal."""
    return tag.role not in (Role.FINAL_ELEMENT, Role.POWER_SUPPLY, Role.SIGNAL_CONDITIONER)
