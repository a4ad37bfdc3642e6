"""HTML to PDF: tagged, archivable, the same bytes for the same document, and nothing fetched from anywhere."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

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
