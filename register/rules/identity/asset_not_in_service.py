from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import AssetState, Severity
from register.rules.engine import Finding, finding, rule


def _scrapped(loop: Loop) -> Loop:
    tag = loop.tag("TIC-101")
    return sketch.with_tag(loop, "TIC-101", asset=replace(tag.asset, state=AssetState.SCRAPPED))


@rule(
    "asset-not-in-service",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=_scrapped(sketch.temperature_loop()),
    right=sketch.temperature_loop(),
)
def asset_not_in_service(loop: Loop) -> Iterator[Finding]:
    """What is installed at a tag is in service: not scrapped, in store or in the workshop.

    Why: the record says two things of one item, and one of them sends somebody the wrong way.

    Remedy: look at the place, then record the swap that was made or correct the asset's state.
    """
    for tag in loop.tags:
        if tag.asset is not None and tag.asset.state != AssetState.IN_SERVICE:
            yield finding(
                tag, "{asset} is installed here and recorded as {state}", asset=tag.asset.code, state=tag.asset.state
            )
