"""Indexes as plants keep them: three of open tag lists, each with another convention, and one that is a mess."""

from __future__ import annotations

import csv
import re
import zipfile
from io import BytesIO, StringIO
from pathlib import Path
from xml.sax.saxutils import escape

import pytest
from django.conf import settings
from openpyxl import Workbook

from tests.exchange.workbooks import saved

DATA = Path(settings.BASE_DIR).parent / "shared" / "opendata" / "tags"
"""Open tag lists that lie beside the project and are no part of it; without them what needs them is left out."""


def _open(name: str) -> bytes:
    """HAI 22.04 points: GitHub icsdataset/hai, CC BY-SA 4.0. Tennessee Eastman process: Downs and Vogel 1993."""
    if not DATA.is_dir():
        pytest.skip("the open tag lists are not here")
    return (DATA / name).read_bytes()


def _table(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(_open(name).decode())))


def hai() -> bytes:
    """Points of the HAI test bed as they were published: P1_FT01, thousands parted by commas, odd units."""
    return _open("hai_22.04_points.csv")


def tennessee() -> bytes:
    """Points and control loops of the Tennessee Eastman process, under a title: XMEAS(9), a loop column, a type."""
    points = {re.sub(r"\D+", " ", one["tag"]).strip() + one["role"][:2]: one for one in _table("tep_points.csv")}
    book = Workbook()
    book.active.title = "Cover"
    book.active.append(["Points of the process, issue 3"])
    sheet = book.create_sheet("Points")
    sheet.append(["Points and control loops", None, None, None, None, "issue 3"])
    sheet.append([])
    sheet.append(["Loop", "Point", "Service", "Type", "Eng. units", "Update"])
    controlled = {}
    for loop in _table("tep_control_loops.csv"):
        sheet.append([loop["controller"], f"{loop['controller'][:4]}({loop['controller'][4:]})", loop["description"],
                      "controller", None, None])  # fmt: skip
        if ends := re.fullmatch(r"XMEAS (\d+) -> XMV (\d+)", loop["input_to_output"]):
            controlled[f"{ends[1]}me"] = controlled[f"{ends[2]}ma"] = loop["controller"]
    for key, one in points.items():
        sheet.append([controlled.get(key), one["tag"], one["description"], one["role"], one["unit"], one["update"]])
    return saved(book)


VARIABLES = {"deg C": "T", "%": "L", "kPa gauge": "P"}


def number_first() -> bytes:
    """Loops of the Tennessee Eastman process named as 101FT, 101FC and 101FV, in an OpenDocument spreadsheet."""
    points = {one["tag"]: one for one in _table("tep_points.csv")}
    rows: list[list[str | float]] = [["Instrument", "Duty", "Setting", "", "Fail"], ["", "", "value", "unit", ""]]
    for loop in _table("tep_control_loops.csv"):
        ends = re.fullmatch(r"XMEAS (\d+) -> XMV (\d+)", loop["input_to_output"])
        if ends is None:
            continue
        number = f"{100 + int(loop['controller'][4:])}"
        unit = points[f"XMEAS({ends[1]})"]["unit"]
        letter = VARIABLES.get(unit, "F")
        rows.append([f"{number}{letter}T", loop["description"], "", unit, ""])
        rows.append([f"{number} {letter}C", loop["description"], float(loop["setpoint"]), unit, ""])
        rows.append([f"{number}{letter}V", points[f"XMV({ends[2]})"]["description"], "", "", "FC"])
    return ods({"Loops": rows})


MESS = """\
Larkwater Maltings;;;;;;;;;
Instrumentenliste, Stand 3;;;;;;;;;
;;;;;;;;;
Tag;Bereich;Beschreibung;Messbereich;;Signal;Alarme;;Ausschnitt;Sicherheitsrelevant
;;;von;bis (°C);;H;HH;;
Darre 1;;;;;;;;;
TIC-701;Darre 1;Trocknungsluft Regler;-10,5;120,0;Pt 100 3w;1.095,5;110;1/8 DIN;ja
TT 701;Darre 1;Trocknungsluft;-10,5;120,0;4/20mA;;;;ja
TV-701A;Darre 1;Heizventil Süd;0;100;4 - 20 mA;;;;
;;;;;;;;;
Tag;Bereich;Beschreibung;Messbereich;;Signal;Alarme;;Ausschnitt;Sicherheitsrelevant
702TI;Darre 2;Ablufttemperatur;0;1,250;K t/c;80;;1/4 DIN;nein
10-TIC-0703;Darre 2;Würzetemperatur;0;250;vier bis zwanzig;;;1/8 DIN;n
TE-703;Darre 2;Würzetemperatur;0;250;vier bis zwanzig;;;;n
Summe: 6;;;;;;;;;
"""
"""Headings in two rows, a title, lines between the rows, decimal commas, three ways of writing tags, a total."""


def mess() -> bytes:
    return MESS.replace("\n", "\r\n").encode("cp1252")


def ods(sheets: dict[str, list[list[str | float]]], extra: str = "") -> bytes:
    """An OpenDocument spreadsheet; ``extra`` stands in each sheet behind its rows."""

    def cell(value: str | float) -> str:
        if value == "":
            return "<table:table-cell/>"
        kind = f'"float" office:value="{value}"' if isinstance(value, float) else '"string"'
        return f"<table:table-cell office:value-type={kind}><text:p>{escape(str(value))}</text:p></table:table-cell>"

    tables = "".join(
        f'<table:table table:name="{name}">'
        + "".join(f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in rows)
        + f"{extra}</table:table>"
        for name, rows in sheets.items()
    )
    return ods_of(
        '<?xml version="1.0" encoding="UTF-8"?><office:document-content '
        'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
        'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
        'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.2"><office:body>'
        f"<office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"
    )


def ods_of(content: str) -> bytes:
    target = BytesIO()
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("mimetype", kind)
        archive.writestr("content.xml", content, zipfile.ZIP_DEFLATED)
        archive.writestr(
            "META-INF/manifest.xml",
            '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>',
        )
    return target.getvalue()
