"""The loop diagram as a page shows it."""

from __future__ import annotations

from collections.abc import Iterable

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from register.plant.values import Loop
from register.rules.engine import Verdict
from register.sheets.diagram import render_svg


def diagram(loop: Loop, verdicts: Iterable[Verdict] = (), *, linked: bool = True) -> SafeString:
    """The whole loop in one drawing with its findings flagged; ``linked`` leads on to the loops it is joined to."""
    return mark_safe(render_svg(loop, verdicts, _loop_page if linked else None))


def _loop_page(number: str) -> str:
    return reverse("loops:detail", args=[number])
