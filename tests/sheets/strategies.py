"""Loops of any shape for properties of the drawing: wired anyhow, named anyhow, lacking anything."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import strategies as st

from register.plant import sketch
from register.plant.values import Alarm, Asset, Cable, Core, FittedBoard, Link, Loop, Port, Tag
from register.plant.words import AlarmKind, AssetState, Direction, Location, Purpose, Role, Severity
from register.rules.engine import Finding, Verdict

_HOSTILE = [
    "",
    "x" * 200,
    "ميزان حرارة الفرن",
    "温度調節計" * 12,
    '<script>alert(1)</script> & "quoted"',
    "line\nbreak\tand\x07bell\x00",
    "e\u0301" * 40,
    "\u202eright to left override",
    "📈 trend",
    "Steam header, north side of boiler house 2",
]
words = st.sampled_from(_HOSTILE) | st.text(max_size=60)
names = st.builds(
    "{}-{}".format, st.sampled_from(["TE", "TT", "TIC", "PV", "PDIC", "TAHH", "K1-XZY"]), st.integers(1, 99999)
) | st.text(min_size=1, max_size=200)
places = st.sampled_from(["JB-1", "JB-2", "MR-1", "Panel P1", "P1-X2", "Somewhere", "温度盤"])
MODELS = [
    None,
    sketch.sensor_model(),
    sketch.transmitter_model(),
    sketch.controller_model(),
    sketch.valve_model(),
    sketch.heater_model(),
]


@st.composite
def ports(draw, count: int) -> tuple[Port, ...]:
    return tuple(
        Port(
            name=f"{draw(words)[:40]}{nth}",
            direction=draw(st.sampled_from(Direction)),
            purpose=draw(st.sampled_from(Purpose)),
            signal=draw(st.sampled_from(["", "4-20mA", "pt100", "tc-K", "relay-contact", "unheard of"])),
            range=draw(st.sampled_from([None, sketch.span("0-200 degC"), sketch.span("-50-150 degC")])),
            bay=draw(st.sampled_from(["", "", "1", "2", "9"])),
        )
        for nth in range(count)
    )


@st.composite
def tags(draw, name: str, loop: str) -> Tag:
    model = draw(st.sampled_from(MODELS))
    made = draw(ports(draw(st.integers(0, 4))))
    boards = (FittedBoard(bay="1", model=sketch.relay_board()),) if draw(st.booleans()) else ()
    fitted = model is not None and draw(st.booleans())
    return Tag(
        name=name,
        loop=loop,
        role=draw(st.sampled_from(Role)),
        location=draw(st.sampled_from([None, *Location])),
        place=draw(words | places),
        description=draw(words),
        zone=draw(st.sampled_from(["", "", "1"])),
        specified=model,
        asset=Asset(code="A1", serial=draw(words), model=model, state=AssetState.IN_SERVICE, boards=boards)
        if fitted
        else None,
        ports=made,
        alarms=(Alarm(name="Alarm 1", kind=AlarmKind.HIGH, output=made[0].name),) if made else (),
    )


@st.composite
def cables(draw) -> Cable:
    return Cable(
        name=draw(st.sampled_from(["C-1", "C-2", "M-1"]) | words.filter(bool)),
        screened=draw(st.sampled_from([None, True, False])),
        screen_earthed_at=draw(st.sampled_from([(), ("panel",), ("field", "panel"), ("JB-1",)])),
    )


@st.composite
def links(draw, ends: list[tuple[str, str]]) -> Link:
    (source, source_port), (target, target_port) = draw(st.sampled_from(ends)), draw(st.sampled_from(ends))
    way = [source, *draw(st.lists(places, max_size=3)), target]
    wires = draw(st.integers(0, 4))
    cores = []
    for nth in range(wires):
        for leg, (begin, end) in enumerate(pairwise(way)):
            if draw(st.integers(0, 9)) == 0:
                continue  # a leg that nobody recorded
            cores.append(
                Core(
                    cable=draw(cables()),
                    core=str(nth + 1),
                    colour=draw(st.sampled_from(["", "red", "green and yellow"])),
                    polarity=draw(st.sampled_from(["", "+", "-", "screen"])),
                    from_place=begin,
                    from_terminal=f"{nth + 1}{'' if leg else draw(words)[:20]}",
                    to_place=end,
                    to_terminal=str(nth + 1),
                )
            )
    return Link(
        source_tag=source, source_port=source_port, target_tag=target, target_port=target_port, cores=tuple(cores)
    )


@st.composite
def loops(draw, most_tags: int = 8) -> Loop:
    called = draw(st.lists(names, min_size=0, max_size=most_tags, unique=True))
    own = tuple(draw(tags(name, "L-1")) for name in called)
    far = tuple(draw(tags(f"FIC-{nth}", f"F-{nth}")) for nth in range(draw(st.integers(0, 2))))
    ends = [(tag.name, port.name) for tag in (*own, *far) for port in tag.ports]
    ends += [(tag.name, "gone") for tag in own]
    made = tuple(draw(links(ends)) for _ in range(draw(st.integers(0, 8)))) if own else ()
    wired = tuple(link for link in made if {link.source_tag, link.target_tag} & set(called))
    return Loop(number="L-1", service=draw(words), area=draw(words), tags=own, neighbours=far, links=wired)


@st.composite
def verdicts(draw, loop: Loop) -> tuple[Verdict, ...]:
    subjects = [loop.number, "nowhere", *(tag.name for tag in loop.tags)]
    spots = ["", "Alarm 1", "bay 1", *(port.name for tag in loop.tags for port in tag.ports)]
    spots += [f"{link.source_tag} {link.source_port} → {link.target_tag} {link.target_port}" for link in loop.links]
    return tuple(
        Verdict(
            f"rule-{nth}",
            draw(st.sampled_from(Severity)),
            Finding(draw(st.sampled_from(subjects)), "wrong", draw(st.sampled_from(spots)), {}, draw(st.booleans())),
        )
        for nth in range(draw(st.integers(0, 12)))
    )
