"""The loop diagram as a page shows it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from register.plant.diff import Change
from register.plant.values import Loop
from register.rules.engine import Verdict
from register.sheets.diagram import render_svg
from register.sheets.diagram.svg import AddressOf


def diagram(
    loop: Loop,
    verdicts: Iterable[Verdict] = (),
    *,
    linked: bool = True,
    address_of: AddressOf | None = None,
    changes: Sequence[Change] = (),
) -> SafeString:
    """The whole loop in one drawing with its findings flagged and the places of changes marked.

    ``linked`` leads on to the loops it is joined to; ``address_of`` gives the address of a part that can be opened.
    """
    return mark_safe(render_svg(loop, verdicts, _loop_page if linked else None, address_of, changes))


def _loop_page(number: str) -> str:
    return reverse("loops:detail", args=[number])
