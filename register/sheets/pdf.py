"""HTML to PDF: tagged, archivable, the same bytes for the same document, and nothing fetched from anywhere."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

import pydyf
from django.template.loader import render_to_string
from django.utils.translation import override

logging.getLogger("fontTools").setLevel(logging.ERROR)  # it reports every font that it subsets


_UNPRINTABLE = {
    **dict.fromkeys(range(0x20), "\N{REPLACEMENT CHARACTER}"),
    **dict.fromkeys(range(0x7F, 0xA0), "\N{REPLACEMENT CHARACTER}"),
    **dict.fromkeys(map(ord, "\t\n\r"), " "),
    **dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A)]),  # would turn the text around them
}


@dataclass(frozen=True)
class File:
    """A file that travels inside a PDF."""

    name: str
    content: bytes
    description: str
    at: datetime
    relationship: str = "Source"


PRINTED_IN = "en-gb"


def printed_html(template: str, context: dict[str, object]) -> str:
    """A document for print, in one language whatever language its pages are read in: the same loop, the same sheet.

    It also keeps the decimal commas of other languages out of lengths and sizes.
    """
    with override(PRINTED_IN):
        return render_to_string(template, context)


def html_to_pdf(html: str, files: Iterable[File] = ()) -> bytes:
    """PDF/A-3 of a whole HTML document; title, author, language and dates come from its head.

    The document must hold all that it shows: only ``data:`` addresses are read. Its sha256 becomes the PDF's
    identifier, and no clock is looked at, so the same document and files always give the same bytes. Control
    characters show as U+FFFD.
    """
    from weasyprint import HTML, Attachment  # here, for loading it takes longer than all else that a page needs
    from weasyprint.urls import URLFetcher

    html = html.translate(_UNPRINTABLE)
    return HTML(string=html, url_fetcher=URLFetcher(allowed_protocols={"data"})).write_pdf(
        pdf_variant="pdf/a-3a",
        pdf_identifier=hashlib.sha256(html.encode()).digest()[:16],
        finisher=_finish,
        attachments=[
            Attachment(
                string=one.content,
                name=one.name,
                description=one.description,
                created=one.at,
                modified=one.at,
                relationship=one.relationship,
            )
            for one in files
        ],
    )


def _finish(document: object, pdf: pydyf.PDF) -> None:
    """Make the tags as few and as plain as they can be before the file is written; a pack of sheets copies them all.

    A run of text belongs to the cell or paragraph that it stands in, without a span of its own. A header says by its
    scope what it is the header of: names for headers, as WeasyPrint gives them, are the same in every document, and
    must not meet in one file.
    """
    catalog = pdf.catalog
    if "AF" in catalog:
        catalog["AF"] = pydyf.Array(dict.fromkeys(catalog["AF"]))  # WeasyPrint names each file twice
    root = _object(pdf, catalog["StructTreeRoot"])
    holders: dict[bytes, bytes] = {}
    for kid in root["K"]:
        _simplify(pdf, kid, holders)
    for one in _object(pdf, root["ParentTree"])["Nums"]:
        if isinstance(one, pydyf.Array):
            one[:] = [holders.get(reference, reference) for reference in one]
    for reference in holders:
        pdf.objects[_number(reference)] = _Nothing(_number(reference))


def _simplify(pdf: pydyf.PDF, reference: bytes, holders: dict[bytes, bytes]) -> None:
    """Simplify what stands below an element; notes the spans that are gone, and what holds their text instead."""
    element = _object(pdf, reference)
    kids = pydyf.Array()
    for kid in element["K"]:
        below = _object(pdf, kid) if isinstance(kid, bytes) else {}
        if below.get("S") == "/Span" and all(isinstance(one, int) for one in below["K"]):
            holders[kid] = reference
            kids += below["K"]
        else:
            kids.append(kid)
            if below.get("Type") == "/StructElem":
                _simplify(pdf, kid, holders)
    element["K"] = kids
    if element["S"] == "/TH":
        row = _object(pdf, element["P"])
        of_columns = _object(pdf, row["P"])["S"] == "/THead"
        element["A"]["Scope"] = "/Column" if of_columns else "/Row"
        element.pop("ID", None)
    elif element["S"] == "/TD":
        element["A"].pop("Headers", None)
        if len(element["A"]) == 1:  # nothing but whose attributes they would be
            del element["A"]
    elif element["S"] == "/Figure":
        left, top, right, bottom = (0.75 * pixels for pixels in element["A"]["BBox"])
        height = _object(pdf, element["Pg"])["MediaBox"][3]  # in points from below, where WeasyPrint counts from above
        element["A"]["BBox"] = pydyf.Array([left, height - bottom, right, height - top])


def _object(pdf: pydyf.PDF, reference: bytes) -> pydyf.Object:
    return pdf.objects[_number(reference)]


def _number(reference: bytes) -> int:
    return int(reference.split()[0])


class _Nothing(pydyf.Object):
    """The place of an object that is gone."""

    data = b"null"

    def __init__(self, number: int):
        super().__init__()
        self.number = number
