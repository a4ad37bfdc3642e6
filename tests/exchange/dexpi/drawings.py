"""The open P&ID examples, and revisions of them made by hand."""

from __future__ import annotations

import random
import re
from pathlib import Path
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from register.exchange.dexpi.drawing import Drawing
from register.exchange.dexpi.reading import read_drawing

DATA = Path(__file__).parent / "data"
PLANT = (DATA / "C01V04-VER.EX01.xml").read_bytes()
LEVEL = (DATA / "I01V01-VER.EX01.xml").read_bytes()
TANK = (DATA / "E14V01-VER.EX01.xml").read_bytes()


def read(data: bytes) -> Drawing:
    return read_drawing(data, "drawing.xml")


def counts(data: bytes) -> dict[str, int]:
    """What the file holds, counted by nothing but its elements; shapes of the catalogue are no functions."""
    root = ElementTree.fromstring(data)

    def count(*paths: str) -> int:
        return sum(len(root.findall(path)) for path in paths)

    return {
        "loops": count("InstrumentationLoopFunction"),
        "functions": count(
            "ProcessInstrumentationFunction",
            ".//ProcessSignalGeneratingFunction",
            ".//ActuatingFunction",
            ".//ActuatingElectricalFunction",
        ),
        "lines": count(".//InformationFlow"),
    }


def replaced(data: bytes, old: str, new: str, times: int | None = None) -> bytes:
    """With a text replaced wherever it stands; it must stand there."""
    text = data.decode()
    assert old in text
    if times is not None:
        assert text.count(old) == times
    return text.replace(old, new).encode()


def without(data: bytes, *ids: str) -> bytes:
    """Without the elements of these identifiers, as when they are deleted in the drawing program."""
    root = ElementTree.fromstring(data)
    for parent in list(root.iter()):
        for child in list(parent):
            if child.get("ID") in ids:
                parent.remove(child)
    return ElementTree.tostring(root)


def with_other_identifiers(data: bytes, seed: int = 7) -> bytes:
    """Each identifier another one, and the elements of the drawing in another order: an export of the same drawing."""
    root = ElementTree.fromstring(data)
    ids = [one.get("ID") for one in root.iter() if one.get("ID")]
    new = {one: f"XMP_{place * 37 + 11}" for place, one in enumerate(ids)}
    shuffle = random.Random(seed).shuffle
    for one in root.iter():
        for name in ("ID", "ItemID", "FromID", "ToID"):
            if one.get(name) in new:
                one.set(name, new[one.get(name)])
    children = list(root)
    shuffle(children)
    root[:] = children
    return ElementTree.tostring(root)


def attribute(data: bytes, id_: str, name: str, value: str) -> bytes:
    """With another value of one attribute of one element."""
    root = ElementTree.fromstring(data)
    (one,) = [each for each in root.iter() if each.get("ID") == id_]
    (found,) = [each for each in one.iterfind("GenericAttributes/GenericAttribute") if each.get("Name") == name]
    found.set("Value", value)
    return ElementTree.tostring(root)


def added(data: bytes, parent: str, xml: str) -> bytes:
    """With one more element below that of an identifier, or below the root ("")."""
    root = ElementTree.fromstring(data)
    (there,) = [root] if not parent else [one for one in root.iter() if one.get("ID") == parent]
    new: Element = ElementTree.fromstring(xml)
    there.append(new)
    return ElementTree.tostring(root)


def generic(**values: str) -> str:
    each = "".join(
        f'<GenericAttribute Name="{re.sub("_$", "", name)}" Value="{value}"/>' for name, value in values.items()
    )
    return f'<GenericAttributes Set="DexpiAttributes">{each}</GenericAttributes>'
