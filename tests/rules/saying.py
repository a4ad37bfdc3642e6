"""What one rule says of a loop."""

from __future__ import annotations

from decimal import Decimal

from register.plant.values import Loop
from register.rules.engine import all_rules


def said(slug: str, loop: Loop, tolerance: Decimal | None = None) -> list[str]:
    """What the rule flags."""
    return [found.text for found in all_rules()[slug].findings(loop, tolerance) if not found.unknown]


def missing(slug: str, loop: Loop) -> list[str]:
    """Which facts the rule lacks."""
    return [found.text for found in all_rules()[slug].findings(loop) if found.unknown]
