"""The parts of a finished drawing: plain shapes with their places, in units of a point at A4.

What draws them need not know what a loop is, and what tests them need not know how they are drawn.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from register.plant.words import FailPosition, Location, Severity
from register.sheets.diagram import text


@dataclass(frozen=True)
class Box:
    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height


@dataclass(frozen=True)
class Label:
    """One line of text on its baseline; ``x`` is its start, middle or end."""

    x: float
    y: float
    text: str
    size: float
    anchor: str = "start"
    bold: bool = False
    quiet: bool = False

    @property
    def box(self) -> Box:
        wide = text.width(self.text, self.size, bold=self.bold)
        left = {"start": self.x, "middle": self.x - wide / 2, "end": self.x - wide}[self.anchor]
        return Box(left, self.y - 0.76 * self.size, wide, 0.98 * self.size)


@dataclass(frozen=True)
class Shown:
    """What of the loop a shape stands for: a tag; the board in a bay of it; the link into a port of it; a finding."""

    kind: str  # tag, board, link, finding
    tag: str = ""
    place: str = ""  # bay, port, or a finding's number


@dataclass(frozen=True)
class Outline:
    """A box that is drawn: what it holds (device, strip, board, other loop), and where it leads."""

    box: Box
    kind: str
    leads_to: str = ""  # number of another loop
    shows: Shown | None = None


@dataclass(frozen=True)
class Wire:
    points: tuple[tuple[float, float], ...]
    kind: str  # conductor, screen, unrecorded
    shows: Shown | None = None


@dataclass(frozen=True)
class Bubble:
    """An ISA-5.1 balloon: the line across it says where the instrument stands."""

    x: float
    y: float
    radius: float
    location: Location | None


@dataclass(frozen=True)
class Symbol:
    box: Box
    name: str
    fails: FailPosition | None = None


@dataclass(frozen=True)
class Terminal:
    x: float
    y: float


@dataclass(frozen=True)
class Earth:
    """A screen's end joined to earth; the mark hangs below its point."""

    x: float
    y: float


@dataclass(frozen=True)
class Flag:
    """The number of a finding at its place."""

    box: Box
    number: int
    severity: Severity
    unknown: bool

    @property
    def shows(self) -> Shown:
        return Shown("finding", place=str(self.number))


@dataclass(frozen=True)
class ChangeMark:
    """Something at this place differs from the last issue."""

    box: Box


@dataclass(frozen=True)
class Divider:
    x: float
    top: float
    bottom: float
    is_boundary: bool = False  # between the hazardous and the safe area


@dataclass
class Drawing:
    """One sheet of a diagram."""

    width: float
    height: float
    title: str
    description: str
    number: int = 1
    of: int = 1
    outlines: list[Outline] = field(default_factory=list)
    dividers: list[Divider] = field(default_factory=list)
    rules: list[tuple[float, float]] = field(default_factory=list)  # lines across: height and length
    wires: list[Wire] = field(default_factory=list)
    terminals: list[Terminal] = field(default_factory=list)
    earths: list[Earth] = field(default_factory=list)
    bubbles: list[Bubble] = field(default_factory=list)
    symbols: list[Symbol] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    flags: list[Flag] = field(default_factory=list)
    change_marks: list[ChangeMark] = field(default_factory=list)
