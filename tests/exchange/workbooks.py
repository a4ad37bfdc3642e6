"""Small workbooks for the tests, written by a library that the product does not use."""

from __future__ import annotations

from io import BytesIO

from openpyxl import Workbook, load_workbook

from register.exchange.sheets import SHEETS

RIGHT = {
    "Plant": [{"Name": "Test works"}],
    "Board families": [{"Board family": "relay"}],
    "Models": [
        {"Maker": "Fennel Row", "Model": "Regent 96", "Kind": "controller"},
        {"Maker": "Fennel Row", "Model": "Relay board", "Kind": "option board", "Board family": "relay"},
    ],
    "Model ports": [
        {"Maker": "Fennel Row", "Model": "Regent 96", "Port": "Input", "Direction": "in", "Purposes": "measurement"}
    ],
    "Model signals": [
        {"Maker": "Fennel Row", "Model": "Regent 96", "Port": "Input", "Direction": "in", "Signal": "4-20 mA"}
    ],
    "Bays": [{"Maker": "Fennel Row", "Model": "Regent 96", "Bay": "1", "Takes": "relay"}],
    "Areas": [{"Code": "W", "Name": "Works"}, {"Code": "BH", "Name": "Boiler house", "Lies within": "W"}],
    "Loops": [
        {
            "Loop": "P-101",
            "Service": "Steam pressure",
            "Area": "BH",
            "Kind": "control",
            "Criticality": "production",
            "Normal value": "10.50",
        }
    ],
    "Tags": [
        {"Tag": "PT-101", "Loop": "P-101", "Role": "transmitter"},
        {
            "Tag": "PIC-101",
            "Loop": "P-101",
            "Role": "controller",
            "Specified maker": "Fennel Row",
            "Specified model": "Regent 96",
        },
    ],
    "Ports": [
        {
            "Tag": "PT-101",
            "Port": "Output",
            "Direction": "out",
            "Purpose": "measurement",
            "Signal": "4…20mA",
            "Range from": "0.0",
            "Range to": "16.0",
            "Unit": "bar(g)",
        },
        {"Tag": "PIC-101", "Port": "Input", "Direction": "in", "Purpose": "measurement", "Signal": "4-20mA"},
        {"Tag": "PIC-101", "Port": "Relay", "Direction": "out", "Purpose": "alarm", "Bay": "1"},
    ],
    "Settings": [{"Tag": "PIC-101", "Which": "required", "Decimals shown": 1}],
    "Alarms": [{"Tag": "PIC-101", "Alarm": "High", "Kind": "high", "Set point": "11.0", "Drives port": "Relay"}],
    "Cables": [{"Cable": "C-101", "Use": "instrument"}],
    "Links": [{"From tag": "PT-101", "From port": "Output", "To tag": "PIC-101", "To port": "Input"}],
    "Cores": [{"Link to tag": "PIC-101", "Link to port": "Input", "Order": 1, "Cable": "C-101", "Core": "1"}],
    "Assets": [
        {
            "Asset": "A1",
            "Maker": "Fennel Row",
            "Model": "Regent 96",
            "Serial number": "0017",
            "State": "in service",
        }
    ],
    "Installations": [{"Asset": "A1", "Tag": "PIC-101", "From": "2024-03-04"}],
    "Boards fitted": [
        {
            "Controller asset": "A1",
            "Bay": "1",
            "Board maker": "Fennel Row",
            "Board model": "Relay board",
            "From": "2024-03-04",
        }
    ],
    "Calibrations": [{"Tag": "PT-101", "On": "2024-05-06", "Result": "pass"}],
    "Stock": [{"Maker": "Fennel Row", "Model": "Regent 96", "Store place": "Shelf 3", "Quantity": 1, "At least": 2}],
}
"""One row of every sheet, and nothing wrong with any."""


def changed(sheet: str, row: int, **cells) -> dict:
    """The right rows with some cells of one row changed: the first row below the headings is row 2."""
    rows = {name: [dict(one) for one in of_sheet] for name, of_sheet in RIGHT.items()}
    rows[sheet][row - 2].update({heading.replace("_", " "): cell for heading, cell in cells.items()})
    return rows


def with_row(sheet: str, **cells) -> dict:
    """The right rows and one more."""
    rows = {name: list(of_sheet) for name, of_sheet in RIGHT.items()}
    rows[sheet].append({heading.replace("_", " "): cell for heading, cell in cells.items()})
    return rows


def workbook(rows: dict = RIGHT, *, without_sheet: str = "", without_column: tuple[str, str] = ("", "")) -> bytes:
    """An .xlsx of all sheets with these rows."""
    book = Workbook()
    book.remove(book.active)
    for sheet in SHEETS:
        if sheet.name == without_sheet:
            continue
        page = book.create_sheet(sheet.name)
        headings = [one.heading for one in sheet.columns if (sheet.name, one.heading) != without_column]
        page.append(headings)
        for row in rows.get(sheet.name, ()):
            assert row.keys() <= {one.heading for one in sheet.columns}, row
            page.append([row.get(heading) for heading in headings])
    return saved(book)


def saved(book: Workbook) -> bytes:
    data = BytesIO()
    book.save(data)
    return data.getvalue()


def cells_of(data: bytes, sheet: str) -> list[list]:
    """What another program sees in a sheet."""
    return [[cell.value for cell in row] for row in load_workbook(BytesIO(data))[sheet].iter_rows()]
