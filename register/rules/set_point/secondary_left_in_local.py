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
        settings = one.target_tag.settings
        if one.target_tag not in loop.tags or settings is None:
            continue
        if settings.working_in_local or settings.set_point_source == SetPointSource.LOCAL:
            how = "was left working in local" if settings.working_in_local else "is set to a local set point"
            yield finding(
                one.target_tag, "{source} sends it a set point, but it {how}", source=one.source_tag.name, how=how
            )
