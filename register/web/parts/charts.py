"""Charts as places on a grid of 100 by 100, for templates to draw in SVG. Figures in, geometry out.

Both charts keep the figures beside the picture, so that the table behind it says the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.functional import Promise

Number = int | float | Decimal


@dataclass(frozen=True)
class Series:
    """Figures under one name; a kind (error, warning, advice, unknown) gives them its colour and pattern."""

    name: str | Promise
    figures: Sequence[Number | None]
    kind: str = "plain"


@dataclass(frozen=True)
class Segment:
    """A piece of a bar; its start and width in per cent are text, which no locale's decimal comma can reach."""

    start: str
    width: str
    kind: str


@dataclass(frozen=True)
class BarRow:
    label: str
    url: str
    segments: tuple[Segment, ...]
    named_figures: tuple[tuple[str | Promise, Number | None], ...]


@dataclass(frozen=True)
class BarChart:
    """A table whose rows each hold a bar: the picture is in the table, not before it."""

    title: str | Promise
    heading: str | Promise
    series: tuple[Series, ...]
    rows: tuple[BarRow, ...]


def bar_chart(
    title: str | Promise,
    labels: Sequence[str],
    series: Sequence[Series],
    *,
    heading: str | Promise = "",
    urls: Sequence[str] = (),
) -> BarChart:
    """A bar for each label, made of a segment for each series; the longest bar takes the whole width."""
    named_rows = _named(series)
    longest = float(max((sum(figure for _, figure in named) for named in named_rows), default=0)) or 1.0
    rows = []
    for place, (label, named) in enumerate(zip(labels, named_rows, strict=True)):
        start, segments = 0.0, []
        for one, (_, figure) in zip(series, named, strict=True):
            width = float(figure) / longest * 100
            if width:
                segments.append(Segment(f"{start:.2f}", f"{width:.2f}", one.kind))
            start += width
        rows.append(BarRow(label, urls[place] if urls else "", tuple(segments), named))
    return BarChart(title, heading, tuple(series), tuple(rows))


def _named(series: Sequence[Series]) -> list[tuple[tuple[str | Promise, Number | None], ...]]:
    """For each label the figure of each series under the series' name, as a table shows them."""
    names = [one.name for one in series]
    return [tuple(zip(names, figures, strict=True)) for figures in zip(*(one.figures for one in series), strict=True)]


@dataclass(frozen=True)
class Line:
    name: str | Promise
    kind: str
    path: str
    points: str


@dataclass(frozen=True)
class LineChart:
    """Lines over equal steps; ``scale`` holds the values along the upright axis from the top down."""

    title: str | Promise
    heading: str | Promise
    labels: tuple[str, ...]
    shown_labels: tuple[str, ...]
    scale: tuple[str, ...]
    grid: str
    lines: tuple[Line, ...]
    rows: tuple[tuple[str, tuple[tuple[str | Promise, Number | None], ...]], ...]


def line_chart(
    title: str | Promise,
    labels: Sequence[str],
    series: Sequence[Series],
    *,
    heading: str | Promise = "",
    at: Sequence[Number] = (),
) -> LineChart:
    """A line for each series; a figure that is None leaves a gap.

    The labels stand at equal steps, or where the numbers ``at`` say along an axis of their own.
    """
    known = [float(figure) for one in series for figure in one.figures if figure is not None]
    ticks = scale(min(known, default=0.0), max(known, default=0.0))
    low, high = ticks[0], ticks[-1]
    steps = scale(float(min(at)), float(max(at))) if at else []
    across = (
        [(float(value) - steps[0]) / (steps[-1] - steps[0]) * 100 for value in at]
        if at
        else [index * 100 / max(len(labels) - 1, 1) for index in range(len(labels))]
    )

    def place(index: int, figure: Number) -> str:
        return f"{across[index]:.2f} {100 - (float(figure) - low) / (high - low) * 100:.2f}"

    lines = []
    for one in series:
        path, points, pen = [], [], "M"
        for index, figure in enumerate(one.figures):
            if figure is None:
                pen = "M"
                continue
            path.append(f"{pen}{place(index, figure)}")
            points.append(f"M{place(index, figure)}h0")
            pen = "L"
        lines.append(Line(one.name, one.kind, "".join(path), "".join(points)))
    shown = [f"{tick:.10g}" for tick in steps] or labels
    heights = [100 - (tick - low) / (high - low) * 100 for tick in ticks]
    return LineChart(
        title=title,
        heading=heading,
        labels=tuple(labels),
        shown_labels=tuple(shown) if at or len(shown) <= 6 else (shown[0], shown[len(shown) // 2], shown[-1]),
        scale=tuple(f"{tick:.10g}" for tick in reversed(ticks)),
        grid="".join(f"M0 {height:.2f}H100" for height in heights),
        lines=tuple(lines),
        rows=tuple(zip(labels, _named(series), strict=True)),
    )


def scale(low: float, high: float) -> list[float]:
    """Round values, equally spaced by 1, 2 or 5 times a power of ten, that enclose both ends and zero.

    >>> scale(3, 17)
    [0.0, 5.0, 10.0, 15.0, 20.0]
    """
    low, high = min(low, 0.0), max(high, 0.0)
    rough = ((high - low) or 1.0) / 4
    magnitude = 10 ** math.floor(math.log10(rough))
    step = next(factor * magnitude for factor in (1, 2, 5, 10) if factor * magnitude >= rough * 0.999)
    first, last = math.floor(low / step), math.ceil(high / step)
    return [float(count * step) for count in range(first, max(last, first + 1) + 1)]
