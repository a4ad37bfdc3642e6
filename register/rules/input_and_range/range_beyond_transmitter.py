from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Role, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "range-beyond-transmitter",
    severity=Severity.ERROR,
    source="the transmitter's data sheet",
    wrong=sketch.pressure_loop(range_="0-40 bar (gauge)"),
    right=sketch.pressure_loop(),
)
def range_beyond_transmitter(loop: Loop) -> Iterator[Finding]:
    """A transmitter is ranged within the limits of its data sheet.

    Why: it saturates below the top of the range, and everything above looks the same.

    Remedy: fit a transmitter that reaches the range, or narrow the range.
    """
    for tag in loop.with_role(Role.TRANSMITTER):
        limits, measured = tag.model.range_limits if tag.model else None, tag.range
        if limits and measured and limits.comparable(measured) and not limits.contains_range(measured):
            yield finding(
                tag, "it is ranged {range}; {model} reaches {limits}", range=measured, model=tag.model, limits=limits
            )
