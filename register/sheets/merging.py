"""One PDF/A of many: every page, bookmark, tag and attached file of its parts, in their order."""

from __future__ import annotations

import io
from collections.abc import Iterable

import pikepdf
from pikepdf import Array, Dictionary, Name, String


class Merging:
    """A PDF that parts are added to. Each part is a PDF/A-3 of its own, tagged, as ``html_to_pdf`` makes them."""

    def __init__(self) -> None:
        self.document = pikepdf.new()
        self._bookmarks: list[pikepdf.OutlineItem] = []
        self._files: dict[str, pikepdf.Object] = {}
        self._parts = Array()
        self._whole = self.document.make_indirect(Dictionary(Type=Name.StructElem, S=Name.Document, K=self._parts))
        self._tagged = Array()  # the branches of the tree that leads from content to its tags
        self._next_key = 0  # in that tree

    def add(self, content: bytes, *, bookmark: str, file_name: str = "") -> None:
        """Add a part at the end; the file that it carries gets a name of its own within the whole."""
        first = len(self.document.pages)
        with pikepdf.open(io.BytesIO(content)) as part:
            self.document.pages.extend(part.pages)
            # After the pages, so that tags and pages are those of one part.
            tags = self.document.copy_foreign(part.Root.StructTreeRoot)
            for spec in part.Root.get("/AF", ()):
                self._attach(file_name, self.document.copy_foreign(spec))
            if "/OutputIntents" not in self.document.Root:
                self.document.Root.OutputIntents = self.document.copy_foreign(
                    part.make_indirect(part.Root.OutputIntents)
                )
        self._bookmarks.append(pikepdf.OutlineItem(bookmark, first))
        self._add_tags(tags, bookmark, range(first, len(self.document.pages)))

    def _add_tags(self, tags: Dictionary, title: str, pages: Iterable[int]) -> None:
        for number in pages:
            page = self.document.pages[number].obj
            page.StructParents += self._next_key
            for annotation in page.get("/Annots", ()):
                if "/StructParent" in annotation:
                    annotation.StructParent += self._next_key
        (part,) = tags.K
        part.S, part.T, part.P = Name.Part, String(title), self._whole
        self._parts.append(part)
        branch = tags.ParentTree
        for place in range(0, len(branch.Nums), 2):
            branch.Nums[place] += self._next_key
        branch.Limits = Array([branch.Nums[0], branch.Nums[-2]])
        self._tagged.append(branch)
        self._next_key = int(branch.Nums[-2]) + 1

    def attach(self, name: str, content: bytes, *, mime_type: str, description: str) -> None:
        """Attach a file that says what the whole is."""
        spec = pikepdf.AttachedFileSpec(
            self.document,
            content,
            filename=name,
            mime_type=mime_type,
            description=description,
            relationship=Name.Data,
        )
        self._attach(name, spec.obj)

    def _attach(self, name: str, spec: Dictionary) -> None:
        spec.F = spec.UF = String(name)
        self._files[name] = spec

    def finished(self, title: str) -> bytes:
        """The whole under its title."""
        root = self.document.Root
        with self.document.open_outline() as outline:
            outline.root.extend(self._bookmarks)
        tree = self.document.make_indirect(Dictionary(Kids=self._tagged))
        tags = self.document.make_indirect(Dictionary(Type=Name.StructTreeRoot, K=self._whole, ParentTree=tree))
        self._whole.P, root.StructTreeRoot = tags, tags
        root.MarkInfo = Dictionary(Marked=True)
        root.Lang = String("en")
        root.ViewerPreferences = Dictionary(DisplayDocTitle=True)
        root.AF = Array(self._files.values())
        named = Array(one for name in sorted(self._files) for one in (String(name), self._files[name]))
        root.Names = Dictionary(EmbeddedFiles=Dictionary(Names=named))
        with self.document.open_metadata(set_pikepdf_as_editor=False) as metadata:
            metadata["dc:title"] = title
            metadata["pdf:Producer"] = f"pikepdf {pikepdf.__version__}"
            metadata["pdfaid:part"], metadata["pdfaid:conformance"] = "3", "A"
        target = io.BytesIO()
        # Small objects together: a third of the size, and sooner written. Streams stay as they are in the parts.
        self.document.save(target, object_stream_mode=pikepdf.ObjectStreamMode.generate, min_version="1.7")
        self.document.close()
        return target.getvalue()
