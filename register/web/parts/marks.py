"""Severity as people meet it: a shape and a word, and a colour that neither needs."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from register.plant.words import Severity

UNKNOWN = "unknown"
"""The fourth mark: a rule that lacks a fact cannot tell. It has no urgency and no colour."""

WORDS = {
    Severity.ERROR: _("Error"),
    Severity.WARNING: _("Warning"),
    Severity.ADVICE: _("Advice"),
    UNKNOWN: _("Cannot tell"),
}
COUNTED = {
    Severity.ERROR: ngettext_lazy("%(count)d error", "%(count)d errors", "count"),
    Severity.WARNING: ngettext_lazy("%(count)d warning", "%(count)d warnings", "count"),
    Severity.ADVICE: ngettext_lazy("%(count)d piece of advice", "%(count)d pieces of advice", "count"),
    UNKNOWN: ngettext_lazy("%(count)d cannot be told", "%(count)d cannot be told", "count"),
}


def severity_mark(severity: str, unknown: bool = False) -> SafeString:
    """The shape with its word. A finding that cannot tell gets its own mark, whatever its rule's severity."""
    kind = UNKNOWN if unknown else severity
    return format_html(
        '<span class="severity severity-{kind}"><svg class="mark" aria-hidden="true"><use href="#mark-{kind}"/></svg>'
        "{word}</span>",
        kind=kind,
        word=WORDS[kind],
    )


def severity_words(severity: str, unknown: bool = False) -> str:
    """The severity as a file says it."""
    return "cannot tell" if unknown else severity


def counted(counts: Mapping[str, int]) -> str:
    """How many of each severity in words.

    >>> counted({Severity.ERROR: 2})
    '2 errors'
    """
    return ", ".join(COUNTED[kind] % {"count": counts[kind]} for kind in WORDS if counts.get(kind))


def severity_counts(counts: Mapping[str, int]) -> SafeString:
    """How many of each severity, for a narrow column: shape and number, the words in the tip and for screen readers."""
    found = [(kind, counts[kind]) for kind in WORDS if counts.get(kind)]
    if not found:
        return format_html('<span class="quiet">{}</span>', _("none"))
    return format_html_join(
        " ",
        '<span class="severity severity-{0}" title="{2}"><svg class="mark" aria-hidden="true"><use href="#mark-{0}"/>'
        '</svg><span aria-hidden="true">{1}</span><span class="visually-hidden">{2}</span></span>',
        ((kind, count, COUNTED[kind] % {"count": count}) for kind, count in found),
    )
