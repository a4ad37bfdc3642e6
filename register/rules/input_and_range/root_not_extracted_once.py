from __future__ import annotations

from collections.abc import Iterator

from register.calc.ranges import Range
from register.calc.signals import flow_percent
from register.plant import sketch
from register.plant.values import Connection, Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded
from register.rules.reading import measuring_input, passes_on, read_range, upstream

FLOWS = ("volume flow", "mass flow", "velocity")
TIMES = {0: "nowhere", 2: "twice", 3: "three times"}


@rule(
    "root-not-extracted-once",
    severity=Severity.ERROR,
    source="square law of differential-pressure flow (ISO 5167-1:2003, 5)",
    wrong=sketch.flow_loop(root_in_transmitter=True, root_in_controller=True),
    right=sketch.flow_loop(root_in_transmitter=False, root_in_controller=True),
)
def root_not_extracted_once(loop: Loop) -> Iterator[Finding]:
    """A flow measured as differential pressure has its root extracted exactly once on its way to the reader.

    Why: twice, the flow reads high at low flow; never, it reads low: batches, ratios and totals are wrong.

    Remedy: switch the root on at one place and off at the others.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        if one.source.purpose != Purpose.MEASUREMENT or passes_on(one.target_tag):
            continue
        roots = roots_on_the_way(loop, one)
        if roots == 1:
            continue
        if roots == 0 and not is_head_to_flow(begins_as(loop, one), read_range(one)):
            continue
        yield finding(
            one.target_tag,
            "the root is extracted {times} between {source} and {target}: at a true 50 % of flow it shows {shown} %",
            place=one.target.name,
            times=TIMES.get(roots, f"{roots} times"),
            source=one.source_tag.name,
            target=one.target_tag.name,
            shown=rounded(round(flow_percent(25, roots), 1)),
        )


def roots_on_the_way(loop: Loop, one: Connection) -> int:
    """How often the root is extracted from where the signal begins to the reader, the reader included."""
    before = list(upstream(loop, one))
    return (
        reader_takes_root(one)
        + one.source.square_root
        + sum(into.source.square_root + into.target.square_root for into in before)
    )


def reader_takes_root(one: Connection) -> bool:
    """Whether the reader extracts the root: as set, or as recorded for its port."""
    settings = one.target_tag.settings
    set_so = settings is not None and settings.square_root and one.target is measuring_input(one.target_tag)
    return one.target.square_root or set_so


def begins_as(loop: Loop, one: Connection) -> Range | None:
    """The range in which the signal begins."""
    *_, first = (one, *upstream(loop, one))
    return first.source.range


def is_head_to_flow(sent: Range | None, read: Range | None) -> bool:
    """Whether a differential pressure is sent and a flow is read."""
    return (
        sent is not None
        and read is not None
        and sent.dimension == "pressure"
        and sent.reference in ("differential", "")
        and read.dimension in FLOWS
    )
