from __future__ import annotations

from collections.abc import Iterator

from register.calc.ranges import Range
from register.calc.signals import flow_percent
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded

FLOWS = ("volume flow", "mass flow", "velocity")


@rule(
    "root-not-extracted-once",
    severity=Severity.ERROR,
    source="square law of differential-pressure flow (ISO 5167-1:2003, 5)",
    wrong=sketch.flow_loop(root_in_transmitter=True, root_in_controller=True),
    right=sketch.flow_loop(root_in_transmitter=False, root_in_controller=True),
)
def root_not_extracted_once(loop: Loop) -> Iterator[Finding]:
    """A flow measured as differential pressure has its root extracted exactly once, in the transmitter or its reader.

    Why: twice, the flow reads high at low flow; never, it reads low: batches, ratios and totals are wrong.

    Remedy: switch the root on at one end and off at the other.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        settings = one.target_tag.settings
        read = one.target_tag.range
        if one.source.range is None or read is None or settings is None:
            continue
        roots = one.source.square_root + settings.square_root
        if roots == 1 or not (roots == 2 or is_head_to_flow(one.source.range, read)):
            continue
        yield finding(
            one.target_tag,
            "the root is extracted {times} between {source} and {target}: at a true 50 % of flow it shows {shown} %",
            place=one.target.name,
            times="twice" if roots else "nowhere",
            source=one.source_tag.name,
            target=one.target_tag.name,
            shown=rounded(round(flow_percent(25, roots), 1)),
        )


def is_head_to_flow(sent: Range, read: Range) -> bool:
    """Whether a differential pressure is sent and a flow is read."""
    return sent.dimension == "pressure" and sent.reference == "differential" and read.dimension in FLOWS
