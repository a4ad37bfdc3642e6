"""What a column of an index can be: what it is called there, and how its cells are read."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cache
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from register import models as tables
from register.calc.errors import CalculationError
from register.calc.ranges import Range
from register.calc.signals import SIGNALS, parse_signal
from register.calc.units import ParsedUnit, label
from register.exchange.cells import CellProblem, allowed_words, is_unit
from register.exchange.foreign import spelling
from register.exchange.foreign.spelling import folded
from register.exchange.reading import SHEET_OF
from register.exchange.sheets import Column
from register.models.fields import QuantityField
from register.plant.words import AlarmKind, Criticality, FailPosition, Location, Role


@dataclass(frozen=True)
class Hand:
    """How one hand writes: its decimal sign, whether its days come before its months, the unit in the heading."""

    decimal: str = ""
    day_first: bool | None = None
    unit: ParsedUnit | None = None


@dataclass(frozen=True)
class Target:
    """What a column can be: words that stand in its heading, how a cell is read (raises CellProblem), and, where the
    value is one fact of a table, which."""

    key: str
    label: str | Promise
    group: str | Promise
    phrases: tuple[str, ...]
    read: Callable[[str, Hand], Any]
    fact: tuple[type[models.Model], str] | None = None
    words: tuple[str, ...] = ()  # the closed list that an unreadable text can be answered from
    is_number: bool = False
    tells_itself: bool = False  # its texts are like those of no other column


NAMES, WHAT, MEASURES, ALARMS, PLACE = (
    _("What names it"),
    _("What it is"),
    _("What it measures and sends"),
    _("Alarms"),
    _("Where and how it stands"),
)


def _text(most: int) -> Callable[[str, Hand], str]:
    def read(text: str, hand: Hand) -> str:
        if re.search(r"[\x00-\x1f\x7f]", text):
            raise CellProblem("It holds a control character. Type it again.")
        if len(text) > most:
            raise CellProblem(f"It is longer than {most} characters. Shorten it.")
        return text

    return read


def _signal(text: str, hand: Hand) -> str:
    try:
        return parse_signal(text)
    except CalculationError as fault:
        raise CellProblem(str(fault)) from None


def _number(text: str, hand: Hand) -> Decimal:
    bare = re.sub(r"\s*[^\d\s.,]+$", "", text) if hand.unit and _same_unit(text, hand.unit) else text
    return spelling.number(bare, hand.decimal)


def _same_unit(text: str, unit: ParsedUnit) -> bool:
    behind = re.search(r"[^\d\s.,]+$", text)
    try:
        return bool(behind) and spelling.unit(behind[0]) == unit
    except CellProblem:
        return False


def _criticality(text: str, hand: Hand) -> Criticality | None:
    """One of the register's words, or yes to the question whether safety hangs on it."""
    for word in Criticality:
        if folded(word) == folded(text):
            return word
    try:
        return Criticality.SAFETY if spelling.yes_or_no(text) else None
    except CellProblem:
        raise CellProblem(f"“{text}” is not one of: {', '.join(Criticality)}.") from None


def _of_column(column: Column, table: type[models.Model]) -> Callable[[str, Hand], Any]:
    """Reads what any column of the register's own workbook holds, as people write it."""
    kept = column.field_of(table)
    words = allowed_words(column, SHEET_OF[table])

    def read(text: str, hand: Hand) -> Any:
        if isinstance(kept, models.BooleanField):
            return spelling.yes_or_no(text)
        if isinstance(kept, models.DateField):
            return spelling.day(text, hand.day_first)
        if kept.choices:
            found = next((word for word in words if folded(word) == folded(text)), None)
            if found is None:
                raise CellProblem(f"“{text}” is not one of: {', '.join(words)}.")
            return found
        fact: Any = text
        if isinstance(kept, QuantityField | models.IntegerField):
            fact = spelling.number(text, hand.decimal)
        if isinstance(kept, models.IntegerField):
            if fact != fact.to_integral_value():
                raise CellProblem(f"“{text}” is not a whole number.")
            fact = int(fact)
        try:
            kept.run_validators(kept.to_python(fact))
        except ValidationError as error:
            raise CellProblem(" ".join(error.messages)) from None
        return fact

    return read


_ALARM_PHRASES = {
    AlarmKind.HIGH_HIGH: ("hh", "hihi", "high high", "alarm hh", "trip high", "hh alarm"),
    AlarmKind.HIGH: ("h", "hi", "high alarm", "alarm h", "alarm high", "hi alarm", "h alarm"),
    AlarmKind.LOW: ("l", "lo", "low alarm", "alarm l", "alarm low", "lo alarm", "l alarm"),
    AlarmKind.LOW_LOW: ("ll", "lolo", "low low", "alarm ll", "trip low", "ll alarm"),
}


def _own() -> list[Target]:
    tag, loop, port = tables.Tag, tables.Loop, tables.Port
    return [
        Target(
            "tag", _("Tag"), NAMES,
            ("tag", "tag no", "tag number", "tagname", "tag name", "tag nr", "instrument", "instrument tag",
             "instrument no", "instrument number", "item", "device tag", "point", "kennzeichen", "messstelle",
             "meßstelle", "pltstelle", "plt stelle", "mess stelle", "repère"),
            _text(60), tells_itself=True,
        ),
        Target("letters", _("Tag, its letters"), NAMES,
               ("function", "function letters", "letters", "isa code", "function code", "type code"), _text(6)),
        Target("number", _("Tag, its number"), NAMES, ("sequence", "seq no", "sequence number"), _text(12)),
        Target("suffix", _("Tag, its suffix"), NAMES, ("suffix", "sfx"), _text(4)),
        Target("loop", _("Loop"), NAMES, ("loop", "loop no", "loop number", "loop tag", "loop name", "regelkreis"),
               _text(60)),
        Target("area", _("Area"), NAMES,
               ("area", "unit no", "plant unit", "section", "plant area", "area code", "area no", "anlagenteil",
                "bereich", "zone de production", "building"), _text(80)),
        Target("description", _("Description"), WHAT,
               ("description", "desc", "service description", "tag description", "beschreibung", "bezeichnung",
                "benennung", "désignation", "descriptor"), _text(200), (tag, "description")),
        Target("service", _("Service of the loop"), WHAT,
               ("service", "duty", "loop description", "loop service", "process service"), _text(200),
               (loop, "service")),
        Target("role", _("Role"), WHAT,
               ("role", "instrument type", "type", "device type", "type of instrument", "instrument description",
                "geräteart", "gerätetyp", "kind"),
               lambda text, hand: spelling.role(text), (tag, "role"), tuple(Role)),
        Target("criticality", _("Criticality"), WHAT,
               ("criticality", "critical", "safety critical", "safety", "safety related", "sicherheitsrelevant"),
               _criticality, (loop, "criticality"), tuple(Criticality)),
        Target("maker", _("Maker"), WHAT,
               ("maker", "manufacturer", "make", "vendor", "supplier", "mfr", "hersteller", "fabricant"), _text(80)),
        Target("model", _("Model"), WHAT, ("model", "model no", "model number", "typ", "model type", "modèle"),
               _text(80)),
        Target("range", _("Range, both ends"), MEASURES,
               ("range", "measuring range", "instrument range", "calibrated range", "calibration range", "span",
                "cal range", "messbereich", "meßbereich", "étendue", "scale", "process range", "working range"),
               lambda text, hand: spelling.range_(text, hand.decimal, hand.unit), is_number=True, tells_itself=True),
        Target("low", _("Range from"), MEASURES,
               ("range from", "range low", "low range", "lrv", "min", "minimum", "range min", "min range", "from",
                "lower range value", "range lo", "messbereich von", "von", "anfang", "span from", "scale low"),
               _number, (port, "range_low"), is_number=True),
        Target("high", _("Range to"), MEASURES,
               ("range to", "range high", "high range", "urv", "max", "maximum", "range max", "max range", "to",
                "upper range value", "range hi", "messbereich bis", "bis", "ende", "span to", "scale high"),
               _number, (port, "range_high"), is_number=True),
        Target("unit", _("Unit"), MEASURES,
               ("unit", "units", "eng unit", "engineering unit", "engineering units", "eu", "uom", "range unit",
                "einheit", "unité"),
               lambda text, hand: spelling.unit(text), tells_itself=True),
        Target("signal", _("Signal"), MEASURES,
               ("signal", "signal type", "output", "input", "output signal", "input signal", "sensor signal",
                "i/o signal", "sensor type", "element type", "ausgang", "signalart", "eingang"),
               _signal, (port, "signal"), tuple(SIGNALS), tells_itself=True),
        *(
            Target(f"alarm:{kind}", _alarm_label(kind), ALARMS, _ALARM_PHRASES[kind], _number, is_number=True)
            for kind in _ALARM_PHRASES
        ),
        Target("place", _("Place"), PLACE,
               ("place", "panel no", "panel position", "mounting", "mounted at", "installed at",
                "installation place", "position", "einbauort", "ort"), _text(120), (tag, "place")),
        Target("location", _("Location: field, junction box, rack or panel"), PLACE,
               ("location", "loc", "field/panel", "local/panel", "mounting location"),
               lambda text, hand: spelling.location(text), (tag, "location"), tuple(Location)),
        Target("cutout", _("Panel cut-out"), PLACE,
               ("cut out", "cutout", "panel cut out", "panel cutout", "din size", "front size", "case size", "size",
                "format", "ausschnitt"),
               lambda text, hand: spelling.cut_out(text), tells_itself=True),
        Target("supply", _("Supply"), PLACE,
               ("supply", "power", "power supply", "supply voltage", "voltage", "versorgung", "speisung"),
               lambda text, hand: spelling.supply(text)),
        Target("fail", _("On loss of signal or power"), PLACE,
               ("fail position", "failure position", "fail", "fail action", "failure mode", "air failure",
                "fail safe position", "fo/fc", "sicherheitsstellung"),
               lambda text, hand: spelling.fail_position(text), (tag, "fail_position"), tuple(FailPosition)),
    ]  # fmt: skip


def _alarm_label(kind: AlarmKind) -> Promise:
    return {
        AlarmKind.HIGH_HIGH: _("High-high alarm"),
        AlarmKind.HIGH: _("High alarm"),
        AlarmKind.LOW: _("Low alarm"),
        AlarmKind.LOW_LOW: _("Low-low alarm"),
    }[kind]


_COVERED = {"name", "number", "loop__number", "area__code", "specified__maker", "specified__name", "cutout_width_mm",
            "cutout_height_mm", "supply_kind", "supply_v"}  # fmt: skip


@cache
def targets() -> dict[str, Target]:
    """Everything that a column can be, by key: what indexes hold, then every other fact of a loop and of a tag."""
    found = {target.key: target for target in _own()}
    covered = {target.fact for target in found.values()}
    for table, group in ((tables.Loop, _("More of the loop")), (tables.Tag, _("More of the tag"))):
        for column in SHEET_OF[table].columns:
            if column.path in _COVERED or (table, column.path) in covered or is_unit(column):
                continue
            kept = column.field_of(table)
            words = () if isinstance(kept, models.BooleanField) else allowed_words(column, SHEET_OF[table])
            key = f"{table._meta.model_name}.{column.path}"
            found[key] = Target(
                key, column.heading, group, (_bare(column.heading),), _of_column(column, table), (table, column.path),
                words, isinstance(kept, QuantityField | models.IntegerField),
            )  # fmt: skip
    return found


def _bare(heading: str) -> str:
    """A heading without its case, its marks and what stands in brackets."""
    return re.sub(r"\balarm(?:e|s|en)\b", "alarm", folded(re.sub(r"\(.*?\)|\[.*?\]", " ", heading)))


@cache
def known_heading(text: str) -> tuple[str, int] | None:
    """The target that a heading names, and how well: 3 as a whole, 2 at its end or beginning, 1 within it; or None.

    >>> known_heading("Tag No."), known_heading("Process range (°C)"), known_heading("Remarks by night shift")
    (('tag', 3), ('range', 3), ('loop.remarks', 2))
    """
    words = _bare(text)
    if not words:
        return None
    best = (0, 0, "")
    for target in targets().values():
        for phrase in target.phrases:
            if words == phrase:
                how = 3
            elif len(phrase) < 3:
                continue
            elif words.endswith(f" {phrase}") or words.startswith(f"{phrase} "):
                how = 2
            else:
                how = int(f" {phrase} " in f" {words} ")
            if (how, len(phrase)) > best[:2] and how:
                best = (how, len(phrase), target.key)
    return (best[2], best[0]) if best[0] else None


def shown(value: Any) -> str:
    """A value that was read, in the register's own way of writing."""
    if value is None or value == "":
        return "—"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, ParsedUnit):
        return label(value.code, value.reference)
    if isinstance(value, Range | StrEnum):
        return str(value)
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        first, second = value
        if isinstance(first, Decimal):
            return f"{first} × {second} mm"
        return f"{second} V {first or ''}".strip()
    return SIGNALS[value].label if value in SIGNALS else str(value)
