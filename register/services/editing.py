"""Planner's writes on the places of the plant: areas, loops, tags, settings, ports, alarms, links."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction
from django.db.models import Model, Q

from register.models import Alarm, Area, Cable, Core, Link, Loop, Port, Settings, SettingsKind, Tag, User
from register.plant.words import Direction
from register.services.permissions import May, require
from register.services.recording import Refused, changing

Facts = Mapping[str, Any]
"""Column → value, as a form cleans them."""


def written(instance: Model, facts: Facts) -> Model:
    """Assign, check every constraint, save. Raises ValidationError, which names the fields."""
    for column, fact in facts.items():
        setattr(instance, column, fact)
    instance.full_clean()
    instance.save()
    return instance


def create_area(*, code: str, name: str, parent: Area | None, by: User, **facts: Any) -> Area:
    require(by, May.EDIT_REGISTER)
    path = f"{parent.path} / {name}" if parent else name
    return written(Area(path=path), {"code": code, "name": name, "parent": parent, **facts})


def create_loop(facts: Facts, *, by: User, reason: str) -> Loop:
    """A loop without tags yet, at its first revision."""
    require(by, May.EDIT_REGISTER)
    with transaction.atomic():
        loop = written(Loop(), facts)
        with changing(loop, by=by, needs=May.EDIT_REGISTER, reason=reason):
            pass
        return loop


def edit_loop(loop: Loop, facts: Facts, *, by: User, seen_revision: int, reason: str, work_order: str = "") -> Loop:
    with changing(
        loop, by=by, needs=May.EDIT_REGISTER, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        return written(loop, facts)


def retire_loop(loop: Loop, *, by: User, seen_revision: int, reason: str) -> None:
    """Take a loop out of service. Its history stays; what is installed at its tags must have come out before."""
    if installed := list(
        loop.tags.filter(installations__asset__isnull=False, installations__to_date__isnull=True).values_list(
            "name", flat=True
        )
    ):
        raise Refused(
            f"Assets are still installed at {', '.join(installed)}. Take them out first, then retire the loop."
        )
    with changing(loop, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision) as at:
        written(loop, {"retired_on": at.date()})


def add_tag(loop: Loop, facts: Facts, *, by: User, seen_revision: int, reason: str) -> Tag:
    with changing(loop, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision):
        return written(Tag(loop=loop), facts)


def edit_tag(tag: Tag, facts: Facts, *, by: User, seen_revision: int, reason: str, work_order: str = "") -> Tag:
    with changing(
        tag.loop, by=by, needs=May.EDIT_REGISTER, reason=reason, work_order=work_order, seen_revision=seen_revision
    ):
        return written(tag, facts)


def retire_tag(tag: Tag, *, by: User, seen_revision: int, reason: str) -> None:
    if tag.installations.current().exists():
        raise Refused(f"An asset is still installed at {tag}. Take it out first, then retire the tag.")
    with changing(tag.loop, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision) as at:
        written(tag, {"retired_on": at.date()})


def change_settings(
    tag: Tag,
    facts: Facts,
    *,
    by: User,
    seen_revision: int,
    reason: str,
    work_order: str = "",
    kind: str = SettingsKind.REQUIRED,
) -> Settings:
    """Set what a tag requires (a planner's) or what was left in the instrument (a technician's)."""
    needs = May.EDIT_REGISTER if kind == SettingsKind.REQUIRED else May.RECORD_WORK
    with changing(tag.loop, by=by, needs=needs, reason=reason, work_order=work_order, seen_revision=seen_revision):
        return write_settings(tag, kind, facts)


def write_settings(tag: Tag, kind: str, facts: Facts) -> Settings:
    """Part of the caller's change."""
    row = Settings.objects.filter(tag=tag, kind=kind).first() or Settings(tag=tag, kind=kind)
    return written(row, facts)


def save_port(port: Port, facts: Facts, *, by: User, seen_revision: int, reason: str) -> Port:
    """Add a port to a tag, or change one."""
    with changing(port.tag.loop, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision):
        return written(port, facts)


def remove_port(port: Port, *, by: User, seen_revision: int, reason: str) -> None:
    """Take away a port that nothing is linked to."""
    if port.links_out.exists() or hasattr(port, "link_in"):
        raise Refused(f"{port} is linked. Remove the link first.")
    with changing(port.tag.loop, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision):
        port.delete()


def save_alarm(alarm: Alarm, facts: Facts, *, by: User, seen_revision: int, reason: str) -> Alarm:
    """Add an alarm to a tag, or change one. Its output is a port of the same tag."""
    output = facts.get("output")
    if output is not None and output.tag_id != alarm.tag_id:
        raise Refused(f"{output} belongs to another tag. Choose an output of {alarm.tag}.", field="output")
    with changing(alarm.tag.loop, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision):
        return written(alarm, facts)


def remove_alarm(alarm: Alarm, *, by: User, seen_revision: int, reason: str) -> None:
    with changing(alarm.tag.loop, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision):
        alarm.delete()


def save_link(link: Link, facts: Facts, *, opened_from: Loop, by: User, seen_revision: int, reason: str) -> Link:
    """Link an output to an input, or change a link. Both loops get a revision.

    ``seen_revision`` is that of the loop from whose page the form was opened.
    """
    source, target = facts["source"], facts["target"]
    if source.direction != Direction.OUT:
        raise Refused(f"{source} is an input. A link starts at an output.", field="source")
    if target.direction != Direction.IN:
        raise Refused(f"{target} is an output. A link ends at an input.", field="target")
    loops = dict.fromkeys((opened_from, source.tag.loop, target.tag.loop))
    with changing(*loops, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision):
        return written(link, facts)


def save_cable(cable: Cable, facts: Facts, *, by: User, reason: str) -> Cable:
    """Add a cable, or correct one: every loop that runs through it is recorded and checked again."""
    through = Q(tags__ports__links_out__cores__cable=cable) | Q(tags__ports__link_in__cores__cable=cable)
    loops = Loop.objects.filter(through).distinct() if cable.pk else ()
    with changing(*loops, by=by, needs=May.EDIT_REGISTER, reason=reason):
        return written(cable, facts)


def save_cores(
    link: Link, rows: Sequence[Facts], *, opened_from: Loop, by: User, seen_revision: int, reason: str
) -> None:
    """Set the cores that a link runs through, in the order from its source to its target."""
    loops = dict.fromkeys((opened_from, link.source.tag.loop, link.target.tag.loop))
    with changing(*loops, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision):
        link.cores.all().delete()
        for sequence, facts in enumerate(rows, start=1):
            written(Core(link=link, sequence=sequence), facts)


def remove_link(link: Link, *, opened_from: Loop, by: User, seen_revision: int, reason: str) -> None:
    loops = dict.fromkeys((opened_from, link.source.tag.loop, link.target.tag.loop))
    with changing(*loops, by=by, needs=May.EDIT_REGISTER, reason=reason, seen_revision=seen_revision):
        link.delete()
