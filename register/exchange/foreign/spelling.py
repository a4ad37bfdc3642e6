"""What people write in an instrument index, read into what the register keeps. Where two readings are possible: none.

Units, ranges, signals and tags have their own readers in :mod:`register.calc`; here is what only indexes hold. Every
reader raises CellProblem, which says what would be right.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from functools import cache

from register.calc.errors import CalculationError, NotANumber
from register.calc.panel import cutout_mm
from register.calc.ranges import Range, parse_number, parse_range
from register.calc.units import ParsedUnit, label, read_table, spelling
from register.exchange.cells import CellProblem
from register.plant.words import FailPosition, Location, Role, SupplyKind

NUMBER = re.compile(r"[-+−]?\d[\d.,'’\u00a0\u202f\u2009 ]*")
_COULD_BE_EITHER = re.compile(r"[-+−]?[1-9]\d{0,2}[,.]\d{3}")


def folded(text: str) -> str:
    """Case, compatibility forms, blanks and the marks around words put away.

    >>> folded("  Tag-No. ")
    'tag no'
    """
    plain = unicodedata.normalize("NFKC", text).casefold()
    return " ".join(re.sub(r"[^\w%°/&+]+", " ", plain).replace("_", " ").split())


def decimal_sign(texts: Iterable[str]) -> str:
    """The mark that parts decimals in texts of one hand: "," or "."; "" where nothing shows it, or both are used.

    Source: common practice.

    >>> decimal_sign(["0,5", "1,250"]), decimal_sign(["0.5", "1,250"]), decimal_sign(["1,250", "7"])
    (',', '.', '')
    """
    shown = set()
    for text in texts:
        for number in NUMBER.findall(text):
            number = number.strip()
            marks = re.findall(r"[.,]", number)
            if len(set(marks)) == 2:
                shown.add(marks[-1])
            elif len(marks) == 1 and not _COULD_BE_EITHER.fullmatch(number) and not number.endswith((",", ".")):
                shown.add(marks[0])
    return shown.pop() if len(shown) == 1 else ""


def number(text: str, decimal: str = "") -> Decimal:
    """A number in the hand of which :func:`decimal_sign` speaks. Source: common practice.

    >>> number("2,500", "."), number("2,500", ",")
    (Decimal('2500'), Decimal('2.500'))
    """
    try:
        return parse_number(_plain(text, decimal))
    except NotANumber as fault:
        raise CellProblem(f"{fault} Write it as 12.5.") from None


def _plain(text: str, decimal: str) -> str:
    """Numbers with a decimal point and nothing to part their thousands."""

    def plain(match: re.Match[str]) -> str:
        digits = match[0].rstrip()
        behind = match[0][len(digits) :]
        if decimal and (one := {",": ".", ".": ","}[decimal]) in digits:
            digits = re.sub(rf"(?<=\d){re.escape(one)}(?=\d{{3}}(?!\d))", "", digits)
        elif not decimal and _COULD_BE_EITHER.fullmatch(digits):
            mark = next(mark for mark in ",." if mark in digits)
            if mark == ",":
                raise CellProblem(f"The comma of {digits} can part thousands or decimals. Write it without a comma.")
        return (digits.replace(",", ".") if decimal == "," else digits) + behind

    return NUMBER.sub(plain, text)


def unit(text: str) -> ParsedUnit:
    """A unit with what it refers to, as :func:`register.calc.units.spelling` reads it.

    >>> unit("bar(g)")
    ParsedUnit(code='BAR', reference='gauge')
    """
    try:
        return spelling(text)
    except CalculationError as fault:
        raise CellProblem(str(fault)) from None


def range_(text: str, decimal: str = "", in_unit: ParsedUnit | None = None) -> Range:
    """A range, in the unit that it names or, where it names none, in the one of its column.

    Source: common practice.

    >>> str(range_("-50 to 150 C")), str(range_("0,0 … 2,5", ",", ParsedUnit("BAR", "gauge")))
    ('−50 to 150 °C', '0.0–2.5 bar (gauge)')
    """
    plain = _plain(text, decimal)
    try:
        if in_unit and not re.search(r"[^\W\d_]|[°%]", re.sub(r"\b(?:to|bis|à)\b", "", plain)):
            plain = f"{plain} {label(in_unit.code, in_unit.reference)}"
        return parse_range(plain)
    except CalculationError as fault:
        raise CellProblem(str(fault)) from None


def unit_in_heading(heading: str) -> ParsedUnit | None:
    """The unit that stands in the brackets of a heading, or behind "in" or a comma; None where none does.

    >>> unit_in_heading("Range (°C)"), unit_in_heading("Low in bar(g)"), unit_in_heading("Tag (new)")
    (ParsedUnit(code='CEL', reference=''), ParsedUnit(code='BAR', reference='gauge'), None)
    """
    for pattern in (r"\b(?:in|en)\s+(\S+)$", r"(?:^|\s)[(\[](.+)[)\]]$", r",\s*(\S+)$"):
        if match := re.search(pattern, heading.strip()):
            try:
                return spelling(match[1])
            except CalculationError:
                continue
    return None


@cache
def fronts() -> dict[str, tuple[Decimal, Decimal]]:
    """Width and height in mm of the cut-out for each front that the trade has a name for."""
    return {
        row["trade_name"]: (Decimal(row["cutout_w_mm"]), Decimal(row["cutout_h_mm"]))
        for row in read_table("panel_fronts.csv")
    }


_TURNED = {"vertical": "upright", "portrait": "upright", "horizontal": "flat", "landscape": "flat"}
_SIDES = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:mm)?\s*[x×*]\s*(\d+(?:[.,]\d+)?)\s*(?:mm)?")


def cut_out(text: str) -> tuple[Decimal, Decimal]:
    """Width and height in mm of the panel's hole, from a front's trade name, its sides, or the hole's own.

    A front that can stand upright or lie flat, as 1/8 DIN, must say which. Source: IEC 61554:1999 (from memory).

    >>> cut_out("1/4 DIN"), cut_out("48 x 96 mm"), cut_out("92×45")
    ((Decimal('92'), Decimal('92')), (Decimal('45'), Decimal('92')), (Decimal('92'), Decimal('45')))
    """
    plain = folded(text.replace("×", "x"))
    plain = " ".join(_TURNED.get(word, word) for word in plain.split())
    for name, hole in fronts().items():
        if folded(name) == plain:
            return hole
    if turned := [name for name in fronts() if folded(name).rpartition(" ")[0] == plain]:
        raise CellProblem(f"“{text}” stands upright or lies flat. Write which: {' or '.join(turned)}.")
    if not (match := _SIDES.search(text.strip().casefold())):
        raise CellProblem(f"“{text}” is not a cut-out. Write its width and height in mm, as 92 x 92.")
    width, height = (Decimal(side.replace(",", ".")) for side in match.groups())
    try:
        return tuple(Decimal(f"{side:g}") for side in cutout_mm(float(width), float(height)))
    except CalculationError:
        return width, height


_YES = frozenset({"yes", "y", "true", "x", "1", "ja", "j", "oui", "si", "sí", "wahr", "vrai"})
_NO = frozenset({"no", "n", "false", "0", "nein", "non", "falsch", "faux"})


def yes_or_no(text: str) -> bool:
    """Source: common practice.

    >>> yes_or_no("Y"), yes_or_no("Nein")
    (True, False)
    """
    word = folded(text)
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise CellProblem(f"“{text}” is neither yes nor no.")


_DAY = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})")


def day_first(texts: Iterable[str]) -> bool | None:
    """Whether the dates of one hand have the day before the month; None where nothing shows it, or both are used.

    >>> day_first(["03/04/2026", "31/03/2026"]), day_first(["03/04/2026"])
    (True, None)
    """
    shown = set()
    for text in texts:
        if match := _DAY.fullmatch(text.strip()):
            first, second = int(match[1]), int(match[3])
            if (first > 12) != (second > 12):
                shown.add(first > 12)
    return shown.pop() if len(shown) == 1 else None


def day(text: str, day_comes_first: bool | None = None) -> date:
    """A date as ISO 8601 has it, or as 31.3.2026. With slashes or dashes, day and month must be told apart.

    >>> day("2026-03-31"), day("31.3.2026"), day("3/31/2026")
    (datetime.date(2026, 3, 31), datetime.date(2026, 3, 31), datetime.date(2026, 3, 31))
    """
    try:
        match = _DAY.fullmatch(text.strip())
        if match is None:
            return date.fromisoformat(text.strip()[:10])
        first, second, year = int(match[1]), int(match[3]), int(match[4])
        if match[2] == "." or first > 12 or first == second:
            return date(year, second, first)
        if second > 12:
            return date(year, first, second)
        if day_comes_first is not None:
            return date(year, *((second, first) if day_comes_first else (first, second)))
    except ValueError:
        pass
    raise CellProblem(f"“{text}” is not a date that can be read in one way. Write it as 2026-03-31.")


_ROLE_WORDS = (
    (Role.SIGNAL_CONDITIONER, ("converter", "isolator", "barrier", "conditioner", "i/p", "relay", "umformer")),
    (Role.TRANSMITTER, ("transmitter", "transducer", "messumformer", "transmetteur")),
    (Role.FINAL_ELEMENT, ("valve", "damper", "actuator", "positioner", "drive", "heater", "ventil", "vanne")),
    (Role.CONTROLLER, ("controller", "regler", "régulateur")),
    (Role.RECORDER, ("recorder", "schreiber", "enregistreur")),
    (Role.ALARM_UNIT, ("switch", "alarm", "annunciator", "trip amplifier")),
    (Role.POWER_SUPPLY, ("power supply", "supply unit")),
    (Role.INDICATOR, ("indicator", "gauge", "display", "totaliser", "totalizer", "anzeiger", "indicateur")),
    (
        Role.SENSOR,
        ("thermocouple", "rtd", "thermometer", "thermowell", "element", "sensor", "probe", "orifice", "electrode",
         "thermoelement", "fühler", "sonde"),
    ),
)  # fmt: skip
"""Words that name an instrument by what it does, the deciding ones first (common practice, no source)."""


def role(text: str) -> Role:
    """What an instrument does, from the register's own word or the type that an index gives.

    >>> role("Temperature transmitter"), role("Control valve, globe"), role("RTD element")
    (<Role.TRANSMITTER: 'transmitter'>, <Role.FINAL_ELEMENT: 'final element'>, <Role.SENSOR: 'sensor'>)
    """
    plain = folded(text)
    for one in Role:
        if folded(one) == plain:
            return one
    for one, words in _ROLE_WORDS:
        if any(re.search(rf"\b{re.escape(word)}s?\b", plain) for word in words):
            return one
    raise CellProblem(f"“{text}” does not say what the instrument does in its loop.")


_LOCATIONS = {
    Location.FIELD: ("field", "local", "loc", "fld", "plant", "feld"),
    Location.JUNCTION_BOX: ("junction box", "jb"),
    Location.RACK: ("rack", "marshalling", "marshalling cabinet", "cabinet", "equipment room"),
    Location.PANEL: ("panel", "control panel", "panel front", "control room", "pnl", "tafel"),
}


def location(text: str) -> Location:
    """Source: common practice.

    >>> location("Local"), location("JB")
    (<Location.FIELD: 'field'>, <Location.JUNCTION_BOX: 'junction box'>)
    """
    plain = folded(text)
    for one, words in _LOCATIONS.items():
        if plain in words:
            return one
    raise CellProblem(f"“{text}” is not one of: {', '.join(Location)}.")


_FAILS = {
    FailPosition.OPEN: ("open", "opens", "fo", "fail open", "fails open", "afo", "air fail open"),
    FailPosition.CLOSED: ("closed", "closes", "close", "fc", "fail closed", "fails closed", "fail close", "afc"),
    FailPosition.STAYS: ("stays", "fl", "fail locked", "locked", "fail last", "last position", "stay put", "as is"),
}


def fail_position(text: str) -> FailPosition:
    """Where a final element goes. Source: ANSI/ISA-5.1-2009 for FO, FC and FL; common practice for the rest.

    >>> fail_position("FC"), fail_position("fail open")
    (<FailPosition.CLOSED: 'closed'>, <FailPosition.OPEN: 'open'>)
    """
    plain = folded(text)
    for one, words in _FAILS.items():
        if plain in words:
            return one
    raise CellProblem(f"“{text}” is not one of: {', '.join(FailPosition)}.")


_SUPPLY = re.compile(
    r"(\d+(?:[.,]\d+)?)\s*v?\s*(?:(a\.?c\.?|~)|(d\.?c\.?|=))?(?:[\s,/]*[56]0(?:/60)?\s*hz)?", re.IGNORECASE
)


def supply(text: str) -> tuple[SupplyKind | None, Decimal]:
    """Kind and voltage of a supply; the kind is None where it is not said. Source: common practice.

    >>> supply("230 VAC, 50 Hz"), supply("24V DC"), supply("24")
    ((<SupplyKind.AC: 'a.c.'>, Decimal('230')), (<SupplyKind.DC: 'd.c.'>, Decimal('24')), (None, Decimal('24')))
    """
    match = _SUPPLY.fullmatch(text.strip())
    if match is None:
        raise CellProblem(f"“{text}” is not a supply. Write it as 230 V a.c.")
    kind = SupplyKind.AC if match[2] else SupplyKind.DC if match[3] else None
    return kind, Decimal(match[1].replace(",", "."))
