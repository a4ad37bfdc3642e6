"""Reading a P&ID in the DEXPI exchange: Proteus XML, schema 4, of the DEXPI specification 1.2 and 1.3.

The file comes from a drawing program, so from a stranger: no document type, entity or outside reference is read, and
what the register has no use for (graphics, shapes) is dropped while it is parsed.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import PurePath
from xml.etree.ElementTree import Element, ParseError, TreeBuilder

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import DefusedXMLParser
from django.utils.translation import gettext as _

from register.exchange.dexpi.drawing import Does, Drawing, Function, Line
from register.plant.tag_letters import role_of
from register.plant.words import FailPosition, Location, Role

MEGABYTE = 1024 * 1024
GREATEST_FILE = 64 * MEGABYTE
MOST_ELEMENTS = 500_000
MOST_DEPTH = 100

KEPT = frozenset(
    {
        *("PlantModel", "MetaData", "GenericAttributes", "GenericAttribute", "Association", "Connection", "Drawing"),
        *("InstrumentationLoopFunction", "ProcessInstrumentationFunction", "ProcessSignalGeneratingFunction"),
        *("ActuatingFunction", "ActuatingElectricalFunction", "InformationFlow", "ActuatingSystem"),
        *("ActuatingSystemComponent", "ActuatingElectricalSystem", "ActuatingElectricalSystemComponent"),
        *("ProcessSignalGeneratingSystem", "ProcessSignalGeneratingSystemComponent"),
        *("Equipment", "Nozzle", "PipingNetworkSystem", "PipingNetworkSegment", "PipingComponent"),
    }
)


class NotADrawing(ValueError):
    """The file cannot be taken as a P&ID; the message says why and what to do."""


def read_drawing(data: bytes, file_name: str) -> Drawing:
    """What a P&ID says of instruments. Raises NotADrawing. A drawing without a number is named by its file."""
    return _Reader(_parsed(data)).drawing(PurePath(file_name).stem)


class _Kept(TreeBuilder):
    """Builds of the file only what is kept, with names that bear no namespace."""

    def __init__(self) -> None:
        super().__init__()
        self.dropping = self.elements = self.depth = 0

    def start(self, tag: str, attrs: dict[str, str]) -> Element | None:
        tag = tag.rpartition("}")[2]
        first = not self.elements
        if self.dropping or (tag not in KEPT and not first):
            self.dropping += 1
            return None
        self.elements += 1
        self.depth += 1
        if first and tag != "PlantModel":
            raise NotADrawing(
                _(
                    "The file is XML but no P&ID in the DEXPI exchange: it holds %(tag)s where PlantModel should "
                    "stand. Export the drawing as Proteus XML (DEXPI 1.2 or 1.3)."
                )
                % {"tag": f"“{tag[:40]}”"}
            )
        if self.elements > MOST_ELEMENTS or self.depth > MOST_DEPTH:
            raise NotADrawing(
                _(
                    "The file holds more than %(most)s parts, or parts %(depth)d deep within each other, more than a "
                    "P&ID has. Export one drawing at a time."
                )
                % {"most": f"{MOST_ELEMENTS:,}", "depth": MOST_DEPTH}
            )
        return super().start(tag, attrs)

    def end(self, tag: str) -> Element | None:
        if self.dropping:
            self.dropping -= 1
            return None
        self.depth -= 1
        return super().end(tag.rpartition("}")[2])

    def data(self, data: str) -> None:
        """Nothing of a drawing stands between tags."""


def _parsed(data: bytes) -> Element:
    if not data:
        raise NotADrawing(_("The file is empty. Choose the drawing again."))
    if len(data) > GREATEST_FILE:
        raise NotADrawing(
            _("The file is larger than %(most)d MB, more than a P&ID takes. Export one drawing at a time.")
            % {"most": GREATEST_FILE // MEGABYTE}
        )
    parser = DefusedXMLParser(target=_Kept(), forbid_dtd=True, forbid_entities=True, forbid_external=True)
    try:
        parser.feed(data)
        return parser.close()
    except DefusedXmlException:
        raise NotADrawing(
            _(
                "The file declares a document type or entities, which no drawing needs and which can do harm. "
                "Ask for a plain export."
            )
        ) from None
    except (ParseError, LookupError, ValueError) as fault:
        if isinstance(fault, NotADrawing):
            raise
        raise NotADrawing(
            _("The file is not XML, or it is damaged (%(fault)s). Export the drawing as Proteus XML (DEXPI).")
            % {"fault": fault}
        ) from None


FUNCTIONS = {
    "ProcessInstrumentationFunction": Does.HANDLES,
    "ProcessSignalGeneratingFunction": Does.MEASURES,
    "ActuatingFunction": Does.ACTS,
    "ActuatingElectricalFunction": Does.ACTS,
}
SYSTEMS = ("ActuatingSystem", "ActuatingElectricalSystem", "ProcessSignalGeneratingSystem")
LETTER = {
    "ProcessSignalGeneratingFunction": "E",
    "ActuatingFunction": "V",
    "ActuatingElectricalFunction": "Z",
}
"""What follows the variable where the drawing names a sensor or a final element by its loop alone: ANSI/ISA-5.1-2009,
table 4.1, sensor, valve and driver."""

LOCATIONS = {
    "Field": Location.FIELD,
    "CentralLocation": Location.PANEL,
    "ControlPanel": Location.PANEL,
    "LocalPanel": Location.PANEL,
}
FAIL_POSITIONS = {
    "FailClose": FailPosition.CLOSED,
    "FailOpen": FailPosition.OPEN,
    "FailRetainPosition": FailPosition.STAYS,
}


NAMES = ("TagName", "SubTagName", "PipingComponentName")


@dataclass(frozen=True)
class _Device:
    place: str = ""
    description: str = ""
    fail_position: FailPosition | None = None


class _Reader:
    """Looks at each part of a file once: what depends on one alone is kept."""

    def __init__(self, root: Element):
        self.root = root
        self.faults: list[str] = []
        self.left_out: list[str] = []
        self.attributes: dict[Element, dict[str, str]] = {}
        self.devices: dict[Element | None, _Device] = {None: _Device()}
        self.by_id = {key: one for one in root.iter() if (key := one.get("ID"))}
        self.parent = {child: one for one in root.iter() for child in one}
        self.functions = [one for one in root.iter() if one.tag in FUNCTIONS]
        self.handling = [one for one in self.functions if FUNCTIONS[one.tag] is Does.HANDLES]
        self.flows = [(one, *self._ends(one)) for one in root.iter("InformationFlow")]
        self.beside: dict[Element, list[Element]] = defaultdict(list)
        for _flow, start, end in self.flows:
            if start is not None and end is not None:
                self.beside[start].append(end)
                self.beside[end].append(start)
        self.systems = self._fulfilling()

    def drawing(self, file_name: str) -> Drawing:
        about, drawn = self.about(self.root.find("MetaData")), self.root.find("Drawing")
        number, sheet = about.get("DrawingNumber", ""), about.get("SheetNumber", "")
        name = " ".join(filter(None, (number, sheet and f"sheet {sheet}")))
        loops, loop_of = self._loops()
        tags = self._tags(loop_of)
        functions = [self._function(one, tags[one], loop_of[one]) for one in self.functions if one in tags]
        self._once((one.tag for one in functions), _("%(name)s stands on the drawing twice. Name each function once."))
        lines = {line for flow in self.flows if (line := self._line(*flow, tags))}
        return Drawing(
            name=(name or (drawn.get("Name", "") if drawn is not None else "") or file_name)[:120],
            title=about.get("DrawingName", "")[:200],
            revision=about.get("RevisionNumber", "")[:40],
            area_code=about.get("PlantSectionIdentificationCode", "")[:20],
            area_name=about.get("PlantSectionName", "")[:80],
            loops=tuple(sorted({*loops, *(one.loop for one in functions)})),
            functions=tuple(sorted(functions, key=lambda one: one.tag)),
            lines=tuple(sorted(lines)),
            faults=tuple(sorted(self.faults)),
            left_out=tuple(sorted(self.left_out)),
        )

    # Loops and names

    def _loops(self) -> tuple[list[str], dict[Element, str]]:
        """The numbers of the loops, and the loop of each handling function."""
        members: dict[Element, list[Element]] = {one: [] for one in self.root.iter("InstrumentationLoopFunction")}
        within = {one: loop for loop in members for one in self._associated(loop, "is a collection including")}
        for one in self.handling:
            whole = next((loop for loop in self._associated(one, "is a part of") if loop in members), within.get(one))
            if whole is not None:
                within[one] = whole
                members[whole].append(one)
        numbers = {loop: self._loop_number(loop, of) for loop, of in members.items()}
        self._once(filter(None, numbers.values()), _("Two loops of the drawing have the number %(name)s."))
        if unnumbered := sum(not number for number in numbers.values()):
            self.faults.append(_("Loops without a number: %(count)d. Give each its number.") % {"count": unnumbered})
        loop_of = {one: numbers[loop] for one, loop in within.items() if numbers[loop]}
        for one in self.handling:
            if one not in loop_of and (number := self._number(one)):
                loop_of[one] = _name(self._variable(one), number)
        return [number for number in numbers.values() if number], loop_of

    def _loop_number(self, loop: Element, members: list[Element]) -> str:
        number = self.about(loop).get("InstrumentationLoopFunctionNumber") or loop.get("TagName", "")
        number = number or min(filter(None, map(self._number, members)), default="")
        return _name(min(map(self._variable, members), default=""), number)

    def _tags(self, loop_of: dict[Element, str]) -> dict[Element, str]:
        """The tag of each function; sensors and final elements join the loop of what they serve."""
        tags: dict[Element, str] = {}
        unnamed = defaultdict(list)
        for one in self.handling:
            letters, number = self._letters(one), self._number(one)
            if number:
                tags[one] = _name(letters, number)
            else:
                self.faults.append(_("A function %(letters)s has no number. Give it one.") % {"letters": letters})
        for one in self.functions:
            if FUNCTIONS[one.tag] is Does.HANDLES:
                continue
            name, served = self._drawn_name(one), self._served(one)
            if served not in tags:
                words = _("%(what)s %(name)s serves no function that has a number. Join it to one by a signal line.")
                self.faults.append(words % {"what": _in_words(one), "name": name})
                continue
            loop_of[one] = loop_of[served]
            if name:
                tags[one] = _name(self._variable(served) + LETTER[one.tag], name)
            else:
                unnamed[served, LETTER[one.tag]].append(one)
        for (served, letter), ones in unnamed.items():
            name = _name(self._variable(served) + letter, self._number(served))
            for place, one in enumerate(sorted(ones, key=self._where), start=1):
                tags[one] = f"{name}-{place}" if len(ones) > 1 else name
        return tags

    def _once(self, names: Iterable[str], fault: str) -> None:
        self.faults += [fault % {"name": name} for name, count in Counter(names).items() if count > 1]

    def _drawn_name(self, one: Element) -> str:
        system = self.systems.get(one)
        own = self.about(one).get(f"{one.tag}Number") or one.get("TagName", "")
        return own or (self.about(system).get(f"{system.tag}Number", "") if system is not None else "")

    def _served(self, one: Element) -> Element | None:
        """The handling function that a sensor or a final element belongs to: that around it, or along its lines."""
        if self.parent[one].tag == "ProcessInstrumentationFunction":
            return self.parent[one]
        handling = [end for end in self.beside[one] if FUNCTIONS[end.tag] is Does.HANDLES]
        return min(handling, key=lambda end: (self._letters(end), self._number(end)), default=None)

    def _number(self, one: Element) -> str:
        return self.about(one).get("ProcessInstrumentationFunctionNumber", "")

    def _variable(self, one: Element) -> str:
        return self.about(one).get("ProcessInstrumentationFunctionCategory", "")

    def _letters(self, one: Element) -> str:
        """The identification letters: the measured variable, what modifies it, the functions."""
        parts = ("FunctionCategory", "FunctionModifier", "Functions")
        return "".join(self.about(one).get(f"ProcessInstrumentation{part}", "") for part in parts)

    # Functions and lines

    def _function(self, one: Element, tag: str, loop: str) -> Function:
        does = FUNCTIONS[one.tag]
        letters = self._letters(one) if does is Does.HANDLES else re.match(r"[A-Z]*", tag)[0]
        role = role_of(letters)
        if does is Does.HANDLES and letters.startswith("H") and role not in does.roles:
            role = Role.SET_POINT_SOURCE  # a hand's switch or button
        device = self._device(self.systems.get(one))
        return Function(
            tag=tag,
            loop=loop,
            does=does,
            role=role if role in does.roles else does.roles[0],
            location=LOCATIONS.get(self.about(one).get("Location", "")),
            place=(self._where(one) or device.place)[:120],
            description=device.description[:200],
            fail_position=device.fail_position,
        )

    def _device(self, system: Element | None) -> _Device:
        """What is said of the devices of a system: the valve that they move, and where it goes without its power."""
        if system not in self.devices:
            parts = [system, *system]
            fails = (FAIL_POSITIONS.get(self.about(part).get("FailAction", "")) for part in parts)
            valves = [each for part in parts for each in self._associated(part, "refers to")]
            place, description = _listed(map(self._place, valves)), _listed(map(_in_words, valves))
            self.devices[system] = _Device(place, description, next(filter(None, fails), None))
        return self.devices[system]

    def _where(self, one: Element) -> str:
        return _listed(map(self._place, self._associated(one, "is located in")))

    def _place(self, one: Element) -> str:
        """Where a part of the plant is, in words: a nozzle of a tank, a flange on a line."""
        words = f"{_in_words(one)} {self._own_name(one)}".strip()
        whole, around = None, self.parent.get(one)
        while around is not None:
            whole = around if around.tag in ("Equipment", "PipingNetworkSystem") else whole
            around = self.parent.get(around)
        if whole is None:
            return words
        name = self.about(whole).get("LineNumber") or self._own_name(whole)
        if whole.tag == "PipingNetworkSystem":
            return _("%(part)s on line %(line)s") % {"part": words, "line": name} if name else words
        return _("%(part)s of %(whole)s") % {"part": words, "whole": f"{_in_words(whole)} {name}".strip()}

    def _own_name(self, one: Element) -> str:
        return one.get("TagName") or next(filter(None, map(self.about(one).get, NAMES)), "")

    def _ends(self, flow: Element) -> tuple[Element | None, Element | None]:
        """The functions between which a signal line runs; None for an end that is none."""
        connection = flow.find("Connection")
        drawn = connection.attrib if connection is not None else {}

        def end(association: str, drawn_to: str) -> Element | None:
            logical = self._associated(flow, association)
            at = logical[0] if logical else self.by_id.get(drawn.get(drawn_to, ""))
            return at if at is not None and at.tag in FUNCTIONS else None

        return end("has logical start", "FromID"), end("has logical end", "ToID")

    def _line(self, flow: Element, start: Element | None, end: Element | None, tags: dict[Element, str]) -> Line | None:
        source, target = tags.get(start, ""), tags.get(end, "")
        if source and target and source != target:
            return Line(source, target, _words_of(self.about(flow).get("SignalConveyingType", ""))[:200])
        if source:
            words = _("a signal line from %(tag)s that ends at no function of this drawing")
        elif target:
            words = _("a signal line to %(tag)s that begins at no function of this drawing")
        else:
            words = _("a signal line that joins no functions of this drawing")
        self.left_out.append(words % {"tag": source or target})
        return None

    def _fulfilling(self) -> dict[Element, Element]:
        """The system of devices that fulfils each function."""
        systems = [one for one in self.root.iter() if one.tag in SYSTEMS]
        found = {function: one for one in systems for function in self._associated(one, "fulfills")}
        return found | {
            function: system
            for function in self.functions
            for system in self._associated(function, "is fulfilled by")
            if system.tag in SYSTEMS
        }

    def about(self, one: Element | None) -> dict[str, str]:
        """Its attributes that have a value, by names without their ending; of several languages English counts."""
        if one is None:
            return {}
        if one not in self.attributes:
            found = self.attributes[one] = {}
            for each in one.iterfind("GenericAttributes/GenericAttribute"):
                name = re.sub(r"(AssignmentClass|Specialization)$", "", each.get("Name", ""))
                value = " ".join(each.get("Value", "").split())
                if value and (name not in found or each.get("Language") == "en"):
                    found[name] = value
        return self.attributes[one]

    def _associated(self, one: Element, kind: str) -> list[Element]:
        ids = (each.get("ItemID", "") for each in one.iterfind("Association") if each.get("Type") == kind)
        return [self.by_id[each] for each in ids if each in self.by_id]


def _name(letters: str, number: str) -> str:
    """Letters and number as one name, fit for addresses and labels; a number that begins with a letter is one."""
    name = number if not letters or not number or number[0].isalpha() else f"{letters}-{number}"
    return re.sub(r"[/?#%\\\s]+", "-", name)[:60].strip("-")


def _listed(words: Iterable[str]) -> str:
    return "; ".join(sorted(words))


def _words_of(name: str) -> str:
    """A class of the exchange in words.

    >>> _words_of("BlindFlange")
    'blind flange'
    """
    return re.sub(r"(?<=[a-z0-9])(?=[A-Z])", " ", name).lower()


def _in_words(one: Element) -> str:
    return _words_of(one.get("ComponentClass") or one.tag)
