"""A hash over all that some pages of a PDF show, however the file around them is arranged."""

from __future__ import annotations

import hashlib

import pikepdf

_OUTSIDE = {"/Parent", "/StructParents", "/StructParent", "/P"}
"""Ways from a page back to the file around it."""


def pages_sha256(document: pikepdf.Pdf, first: int, count: int) -> str:
    """The seal of ``count`` pages from ``first`` (0: the first of the file): contents, fonts, images, links, sizes."""
    pages = [document.pages[place].obj for place in range(first, first + count)]
    known = {page.objgen: place for place, page in enumerate(pages)}
    whole = hashlib.sha256()
    for page in pages:
        _walk(page, whole, known, is_page=True)
    return whole.hexdigest()


def _walk(thing: object, whole, known: dict[tuple[int, int], int], *, is_page: bool = False) -> None:
    """Feed an object and all below it; what was met before is named by its place, and pages that links lead to not."""
    if not isinstance(thing, pikepdf.Object):
        whole.update(f"{type(thing).__name__} {thing}\n".encode())
        return
    if thing.is_indirect and not is_page:
        if thing.objgen in known:
            whole.update(f"see {known[thing.objgen]}\n".encode())
            return
        known[thing.objgen] = len(known)
    if isinstance(thing, pikepdf.Stream | pikepdf.Dictionary):
        if thing.get("/Type") == pikepdf.Name.Page and not is_page:
            whole.update(b"another page\n")
            return
        whole.update(b"<<\n")
        for key in sorted(thing.keys()):
            if key not in _OUTSIDE:
                whole.update(f"{key} ".encode())
                _walk(thing[key], whole, known)
        whole.update(b">>\n")
        if isinstance(thing, pikepdf.Stream):
            raw = thing.read_raw_bytes()
            whole.update(f"stream {len(raw)}\n".encode())
            whole.update(raw)
    elif isinstance(thing, pikepdf.Array):
        whole.update(b"[\n")
        for one in thing:
            _walk(one, whole, known)
        whole.update(b"]\n")
    else:
        whole.update(thing.unparse() + b"\n")
