"""Numbers and dates in the reader's words, for templates and tables alike."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.template.defaultfilters import date as as_date
from django.utils.formats import number_format
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.timezone import template_localtime
from django.utils.translation import gettext

from register.calc import units


def quantity(value: Decimal | int | None, unit: str = "") -> str:
    """A number digit for digit as it was typed, with the symbol of its unit (a code; "" for none)."""
    if value is None:
        return ""
    shown = number_format(value, use_l10n=True, force_grouping=False).replace("-", "−")
    return f"{shown}\N{NO-BREAK SPACE}{units.label(unit)}" if unit else shown


def word(value: object) -> str:
    """A word of the register's vocabularies or a heading made of a column's name, in the reader's language."""
    return gettext(str(value)) if value else ""


def localdate(value: date | datetime | None) -> SafeString | str:
    """A date in words of the reader's language; a moment with its 24-hour time in the reader's time zone."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        local = template_localtime(value)
        return format_html(
            '<time datetime="{}">{}, {}</time>', local.isoformat(), as_date(local, "DATE_FORMAT"), as_date(local, "H:i")
        )
    return format_html('<time datetime="{}">{}</time>', value.isoformat(), as_date(value, "DATE_FORMAT"))
