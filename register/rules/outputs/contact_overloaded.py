from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop, ModelPort
from register.plant.words import LoadKind, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded

SWITCHES = ("relay-contact", "triac")
INDUCTIVE = (LoadKind.COIL, LoadKind.MOTOR)


@rule(
    "contact-overloaded",
    severity=Severity.ERROR,
    source="IEC 60947-5-1, AC-15 and DC-13; a third for coils without data is common practice, no source",
    wrong=sketch.relay_heater_loop(load_a="13.0", kind=LoadKind.RESISTIVE),
    right=sketch.relay_heater_loop(load_a="0.05", kind=LoadKind.COIL),
)
def contact_overloaded(loop: Loop) -> Iterator[Finding]:
    """What a contact or a triac switches stays within its rating for that kind of load.

    Coils and motors count at the inductive rating; without one, at a third of the resistive.

    Why: the contact welds, and the output is stuck on.

    Remedy: put an interposing relay or a contactor between, and a suppressor across its coil. Mains: licensed people.
    """
    for one in loop.connections():
        if one.source.signal not in SWITCHES:
            continue
        contact, load = one.source_tag.model_port(one.source), one.target_tag.model_port(one.target)
        if contact is None or load is None:
            continue
        stated = {"port": one.source.name, "target": one.target_tag.name}
        if contact.contact_v is not None and load.load_v_min is not None and load.load_v_min > contact.contact_v:
            yield finding(
                one.source_tag,
                "{port} is rated {rated} V; {target} is switched at {volts} V",
                place=one.source.name,
                rated=f"{contact.contact_v:f}",
                volts=f"{load.load_v_min:f}",
                **stated,
            )
        elif contact.contact_a is None:
            continue
        elif load.load_a is None:
            if one.target_tag.role == Role.FINAL_ELEMENT:
                yield unknown(
                    one.source_tag,
                    "{port} is rated {rated} A; what {target} takes is not recorded",
                    place=one.source.name,
                    rated=f"{contact.contact_a:f}",
                    **stated,
                )
        elif load.load_a > (rated := rating_a(contact, load)):
            yield finding(
                one.source_tag,
                "{port} is rated {rated} A for a {kind} load; {target} takes {load} A",
                place=one.source.name,
                rated=rounded(rated),
                kind=load.load_kind or LoadKind.RESISTIVE,
                load=f"{load.load_a:f}",
                **stated,
            )


def rating_a(contact: ModelPort, load: ModelPort) -> Decimal:
    """Rating of a contact for the kind of load, in A."""
    if load.load_kind not in INDUCTIVE:
        return contact.contact_a
    return contact.contact_inductive_a if contact.contact_inductive_a is not None else contact.contact_a / 3
