"""What keeps a PDF from being PDF/A-3a (ISO 19005-3, ISO 32000-1), as far as can be told from its objects.

From memory of the standards, and no substitute for a validator: it knows what a loop sheet could break.
"""

from __future__ import annotations

import io
from collections.abc import Iterator

import pikepdf

STANDARD_TYPES = {
    *("Document", "Part", "Sect", "Div", "NonStruct", "P", "H1", "H2", "H3", "Span", "Link", "Figure"),
    *("L", "LI", "Lbl", "LBody", "Table", "TR", "TH", "TD", "THead", "TBody"),
}
"""Those of ISO 32000-1, 14.8.4 that a sheet has a use for."""
PRINTED, HIDDEN, NOT_VIEWED = 4, 2, 32  # ISO 32000-1, table 165


def faults(content: bytes) -> list[str]:
    with pikepdf.open(io.BytesIO(content)) as document:
        return [*document.check_pdf_syntax(), *_faults(document, content)]


def _faults(document: pikepdf.Pdf, content: bytes) -> Iterator[str]:
    root = document.Root
    if content.split(b"\n")[1][0:1] != b"%" or min(content.split(b"\n")[1][1:5]) < 128:
        yield "no comment of binary bytes follows the header (6.1.2)"
    if "/ID" not in document.trailer or "/Encrypt" in document.trailer:
        yield "no identifier, or encrypted (6.1.3)"
    with document.open_metadata() as metadata:
        if metadata.pdfa_status != "3A":
            yield f"the metadata claim PDF/A {metadata.pdfa_status} (6.6.4)"
        if metadata["dc:title"] != str(document.docinfo.Title):
            yield "the title differs between metadata and information (6.6.2)"
    (intent,) = root.OutputIntents
    if intent.S != "/GTS_PDFA1" or intent.DestOutputProfile.N != 3:
        yield "no output intent for RGB (6.2.3)"
    if intent.DestOutputProfile.read_bytes()[36:40] != b"acsp":
        yield "the output intent is no ICC profile (ICC.1, 7.2)"
    if not root.MarkInfo.Marked or not str(root.Lang):
        yield "not marked, or without a language (6.7)"
    if {"/OpenAction", "/AA", "/AcroForm", "/XFA"} & set(root.keys()) or "/JavaScript" in root.get("/Names", {}):
        yield "it acts by itself (6.5)"
    for page in document.pages:
        yield from _page_faults(page)
    yield from _file_faults(root)
    yield from _tag_faults(document)


def _page_faults(page: pikepdf.Page) -> Iterator[str]:
    for annotation in page.get("/Annots", ()):
        flags = int(annotation.get("/F", 0))
        if annotation.Subtype != "/Link" or not flags & PRINTED or flags & (HIDDEN | NOT_VIEWED):
            yield "an annotation that is no printed link (6.3)"
        if "/A" in annotation and annotation.A.S != "/URI":
            yield f"a link that does {annotation.A.S} (6.5)"
    yield from _resource_faults(page.Resources)
    operators = {str(one.operator) for one in pikepdf.parse_content_stream(page)}
    if operators & {"k", "K"}:
        yield "colours for CMYK without such an output intent (6.2.4)"


def _resource_faults(resources: pikepdf.Dictionary) -> Iterator[str]:
    for font in resources.get("/Font", {}).values():
        if font.Subtype != "/Type0" or font.Encoding != "/Identity-H" or "/ToUnicode" not in font:
            yield f"the font {font.BaseFont} cannot be read as text (6.2.11)"
        (within,) = font.DescendantFonts
        if not {"/FontFile2", "/FontFile3"} & set(within.FontDescriptor.keys()):
            yield f"the font {font.BaseFont} is not embedded (6.2.11.4)"
        if within.Subtype == "/CIDFontType2" and "/CIDToGIDMap" not in within:
            yield f"the font {font.BaseFont} has no map of its glyphs (6.2.11.3)"
    for state in resources.get("/ExtGState", {}).values():
        if {"/TR", "/HTP"} & set(state.keys()) or state.get("/SMask", "/None") != "/None":
            yield "a graphics state that archives forbid, or a soft mask (6.2.5)"
        if min(float(state.get(one, 1)) for one in ("/ca", "/CA")) < 1:
            yield "something shines through (6.2.10: allowed, but a sheet needs none)"
    for drawn in resources.get("/XObject", {}).values():
        if drawn.Subtype not in ("/Image", "/Form") or {"/OPI", "/Alternates", "/PS", "/Ref"} & set(drawn.keys()):
            yield "an external object that archives forbid (6.2.8, 6.2.9)"
        if drawn.Subtype == "/Form" and "/Resources" in drawn:
            yield from _resource_faults(drawn.Resources)


def _file_faults(root: pikepdf.Dictionary) -> Iterator[str]:
    names = root.get("/Names", {}).get("/EmbeddedFiles", pikepdf.Dictionary(Names=pikepdf.Array())).Names
    files = list(names)[1::2]
    keys = [str(one) for one in list(names)[::2]]
    if keys != sorted(set(keys)):
        yield "the names of embedded files are not in order, or not distinct (ISO 32000-1, 7.9.6)"
    associated = [one.objgen for one in root.get("/AF", ())]
    if sorted(associated) != sorted(one.objgen for one in files):
        yield "embedded files and associated files are not the same (6.8)"
    for spec in files:
        if not {"/F", "/UF", "/AFRelationship", "/EF"} <= set(spec.keys()) or "/Subtype" not in spec.EF.F:
            yield f"the file {spec.get('/UF')} lacks what associates it (6.8)"


def _tag_faults(document: pikepdf.Pdf) -> Iterator[str]:
    root = document.Root.StructTreeRoot
    content = pikepdf.NumberTree(root.ParentTree)
    elements = {}
    waiting = [root.K] if isinstance(root.K, pikepdf.Dictionary) else list(root.K)
    while waiting:
        element = waiting.pop()
        if str(element.S).removeprefix("/") not in STANDARD_TYPES:
            yield f"a tag of the type {element.S} (6.7.3.4)"
        if element.S == "/Figure" and not str(element.get("/Alt", "")):
            yield "a figure without a text in its place (6.7)"
        if element.S == "/TH" and element.A.Scope not in ("/Row", "/Column"):
            yield "a header that does not say of what (ISO 32000-1, 14.8.5.7)"
        elements[element.objgen] = element
        for kid in element.get("/K", ()):
            if isinstance(kid, pikepdf.Dictionary) and kid.get("/Type") == "/StructElem":
                if kid.P.objgen != element.objgen:
                    yield "a tag whose parent is another (ISO 32000-1, table 323)"
                waiting.append(kid)
    keys = [int(page.StructParents) for page in document.pages]
    if len(set(keys)) != len(keys):
        yield "two pages with one place in the tree of tags (ISO 32000-1, 14.7.4.4)"
    for page in document.pages:
        holders = content[int(page.StructParents)]
        for number, holder in enumerate(holders):
            if holder.objgen in elements and not (number in _numbers(holder) and holder.Pg.objgen == page.obj.objgen):
                yield f"text {number} of a page is not that of its tag (ISO 32000-1, 14.7.4.4)"
        for annotation in page.get("/Annots", ()):
            element = content[int(annotation.StructParent)]
            if annotation.objgen not in [
                one.Obj.objgen for one in element.K if not isinstance(one, int) and "/Obj" in one
            ]:
                yield "a link that its tag does not lead to (6.7)"


def _numbers(element: pikepdf.Dictionary) -> list[int]:
    return [one for one in element.K if isinstance(one, int)]
