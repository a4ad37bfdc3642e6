from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, SetPointSource, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "secondary-left-in-local",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.cascade(), "TIC-102", working_in_local=True),
    right=sketch.cascade(),
)
def secondary_left_in_local(loop: Loop) -> Iterator[Finding]:
    """A controller to which a remote set point is wired works to it.

    Why: the master moves an output that nobody follows, and its integral winds up.

    Remedy: switch the controller to remote, or record why it stays in local as a concession.
    """
    for one in loop.connections(Purpose.REMOTE_SET_POINT):
        settings, left = one.target_tag.settings, one.target_tag.as_left
        if settings is None or one.target.purpose != Purpose.REMOTE_SET_POINT:
            continue
        if settings.working_in_local or (left is not None and left.working_in_local):
            how = "was left working in local"
        elif settings.set_point_source == SetPointSource.LOCAL:
            how = "is set to a local set point"
        else:
            continue
        yield finding(
            one.target_tag,
            "{source} sends it a set point, but it {how}",
            place=one.target.name,
            source=one.source_tag.name,
            how=how,
        )
