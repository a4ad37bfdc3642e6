from __future__ import annotations

import django_tables2 as tables

FIGURE = {"td": {"class": "num"}}


class ProblemTable(tables.Table):
    """What keeps a workbook out."""

    sheet = tables.Column(default="the whole workbook")
    row = tables.Column(attrs=FIGURE)
    column = tables.Column()
    found = tables.Column()
    message = tables.Column(verbose_name="What is wrong, and the remedy", attrs={"td": {"class": "wide"}})

    caption = "Problems"

    class Meta:
        orderable = False


class CountsTable(tables.Table):
    """What an import did, by sheet."""

    sheet = tables.Column()
    added = tables.Column(attrs=FIGURE)
    changed = tables.Column(attrs=FIGURE)
    unchanged = tables.Column(attrs=FIGURE)

    caption = "Rows"

    class Meta:
        orderable = False
