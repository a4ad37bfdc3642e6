"""What a benchmark compares."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Comparison:
    """One job done our way and by its floor: the least that any program would have to do, or a reference library."""

    what: str
    size: str
    floor_is: str
    ours: Callable[[], object]
    floor: Callable[[], object]
