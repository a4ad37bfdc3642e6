from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import LoadKind, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "logic-drive-does-not-suit",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_settings(
        sketch.ssr_loop(
            load_kind=LoadKind.COIL,
            load_v_min=sketch.number(207),
            load_v_max=sketch.number(253),
            load_a=sketch.number("0.05"),
        ),
        "TIC-101",
        cycle_time_s=sketch.number(20),
    ),
    right=sketch.ssr_loop(),
)
def logic_drive_does_not_suit(loop: Loop) -> Iterator[Finding]:
    """A logic output drives a solid-state relay whose input takes its voltage, at no more than its current.

    Why: some 12 V at a few tens of milliamps never pull a contactor in, and burn out on a larger load.

    Remedy: drive a coil by a relay contact or a triac at its voltage; keep the logic output for solid-state relays.
    """
    for one in loop.connections():
        if one.source.signal != "ssr-drive":
            continue
        drive, load = one.source_tag.model_port(one.source), one.target_tag.model_port(one.target)
        if drive is None or load is None or drive.drive_v is None:
            continue
        low, high = load.load_v_min, load.load_v_max
        if (low is not None and drive.drive_v < low) or (high is not None and drive.drive_v > high):
            yield finding(
                one.source_tag,
                "{port} gives {drive} V; {target} is switched by {low} to {high} V",
                place=one.source.name,
                port=one.source.name,
                drive=f"{drive.drive_v:f}",
                target=one.target_tag.name,
                low="—" if low is None else f"{low:f}",
                high="—" if high is None else f"{high:f}",
            )
        elif drive.drive_ma is not None and load.load_a is not None and load.load_a * 1000 > drive.drive_ma:
            yield finding(
                one.source_tag,
                "{port} gives {drive} mA; {target} takes {load} mA",
                place=one.source.name,
                port=one.source.name,
                drive=f"{drive.drive_ma:f}",
                target=one.target_tag.name,
                load=f"{(load.load_a * 1000).normalize():f}",
            )
