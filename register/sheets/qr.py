"""QR codes for paper."""

from __future__ import annotations

import base64

import segno


def qr_data_uri(address: str) -> str:
    """A QR code of an address as the data URI of an SVG; "" for none. Source: ISO/IEC 18004, by segno."""
    if not address:
        return ""
    code = segno.make(address, error="m", micro=False)
    drawn = code.svg_inline(border=0, omitsize=True, svgclass=None, lineclass=None)
    drawn = drawn.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    return f"data:image/svg+xml;base64,{base64.b64encode(drawn.encode()).decode()}"
