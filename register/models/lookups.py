"""Conditions that several tables are searched by."""

from __future__ import annotations

from functools import reduce
from operator import or_

from django.db.models import Q


def every_word_in(words: str, *columns: str) -> Q:
    """Each word stands in one of the columns or another; no words: no condition."""
    found = Q()
    for word in words.split():
        found &= reduce(or_, (Q(**{f"{column}__icontains": word}) for column in columns))
    return found
