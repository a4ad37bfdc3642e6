"""A pack holds every sheet, says what it holds, and gives away whoever altered it."""

import io
import json
import os
import zipfile
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from register.models import Loop, Pack, PackForm, Revision
from register.plant import codec
from register.services.editing import edit_loop
from register.sheets import packs
from register.sheets.cache import Kept, keep, kept, place_of, prune
from register.sheets.drawing import drawing
from register.sheets.packs import file_of, make_pack
from register.sheets.standing import Standing
from register.sheets.verifying import NotAPack, verify_pack
from tests import factories
from tests.sheets.archivable import faults


@pytest.fixture
def loops(person) -> list[Loop]:
    return factories.many_loops(3, by=person("planner"))


@pytest.fixture
def ask(person):
    def ask(form: PackForm = PackForm.PDF, **facts: object) -> Pack:
        now = timezone.now()
        usual = {
            "title": "The whole plant",
            "loops": list(Loop.objects.values_list("pk", flat=True)),
            "moment": now,
            "paper": "A4",
            "form": form,
            "address": "https://loops.example/",
            "by": person("auditor"),
            "asked_at": now,
        }
        return Pack.objects.create(**usual | facts)

    return ask


def made(pack: Pack) -> Path:
    list(make_pack(pack))
    return file_of(pack)


def manifest_of(path: Path) -> dict:
    if path.suffix == ".zip":
        return json.loads(zipfile.ZipFile(path).read("manifest.json"))
    with pikepdf.open(path) as document:
        return json.loads(document.attachments["manifest.json"].get_file().read_bytes())


def flipped(path: Path, place: int, target: Path, bit: int = 0) -> Path:
    """A copy with one bit changed."""
    content = bytearray(path.read_bytes())
    content[place] ^= 1 << bit
    target.write_bytes(content)
    return target


def test_one_pdf_has_contents_bookmarks_links_and_the_sheets_in_order(loops, ask, pdf_text):
    path = made(ask())
    with pikepdf.open(path) as document:
        with document.open_outline() as outline:
            titles = [item.title for item in outline.root]
        assert titles == [
            "Contents",
            "P-102 Steam header pressure",
            "T-101 Hot water temperature",
            "T-103 Hot water temperature",
        ]
        sheets = manifest_of(path)["sheets"]
        jumps = [link.Dest[0].objgen for link in document.pages[0].Annots]
        assert jumps == [document.pages[one["first_page"] - 1].obj.objgen for one in sheets]
        assert str(document.Root.PageLabels.Nums[1].S) == "/r"
    assert "T-103" in pdf_text(path.read_bytes()).split("\f")[0]


def test_one_pdf_is_archivable_tagged_and_carries_every_loop(loops, ask):
    """Every tag leads to its own page: faults() follows them all."""
    path = made(ask())
    assert faults(path.read_bytes()) == []
    with pikepdf.open(path) as document:
        parts = document.Root.StructTreeRoot.K.K
        assert [str(part.T) for part in parts][:2] == ["Contents", "P-102 Steam header pressure"]
        attached = {name: one.get_file().read_bytes() for name, one in document.attachments.items()}
    assert sorted(attached) == ["0001-P-102.json", "0002-T-101.json", "0003-T-103.json", "manifest.json"]
    revision = Revision.objects.get(loop__number="T-103")
    assert codec.decode(attached["0003-T-103.json"]) == revision.loop_value()


def test_a_loop_s_record_altered_inside_a_pdf_is_named(loops, ask, tmp_path):
    with pikepdf.open(made(ask())) as document:
        name = "0002-T-101.json"
        document.attachments[name] = pikepdf.AttachedFileSpec(document, b"{}", filename=name)
        document.save(tmp_path / "copy")
    assert verify_pack(tmp_path / "copy").faults == [
        "The record of T-101 revision 1 that is attached to its sheet was altered."
    ]


def test_the_manifest_names_the_sha256_of_each_sheet_and_revision(loops, ask):
    path = made(ask(PackForm.ZIP))
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        names = archive.namelist()
        assert names == [
            "contents.pdf",
            "sheets/0001-P-102.pdf",
            "sheets/0002-T-101.pdf",
            "sheets/0003-T-103.pdf",
            "manifest.json",
        ]
        for one in manifest_of(path)["sheets"]:
            assert one["sha256"] == packs.sha256(archive.read(one["file"]))
            revision = Revision.objects.get(loop__number=one["loop"], number=one["revision"])
            assert one["revision_sha256"] == revision.sha256


@pytest.mark.parametrize("form", PackForm)
def test_a_pack_verifies_with_the_file_and_the_register_alone(loops, ask, form, tmp_path, capsys):
    original = made(ask(form))
    copy = tmp_path / "from a drawer"
    original.rename(copy)
    call_command("verify_pack", str(copy))
    assert capsys.readouterr().out == "The whole plant: 3 sheets were read; each is what the register gave out.\n"


@pytest.mark.parametrize("form", PackForm)
def test_one_bit_changed_anywhere_is_found(loops, ask, form, tmp_path):
    """Two hundred places spread over the file, each with another bit."""
    original = made(ask(form))
    size = original.stat().st_size
    for nth in range(200):
        copy = flipped(original, nth * (size - 1) // 199, tmp_path / "copy", bit=nth % 8)
        with suppress(NotAPack):
            assert verify_pack(copy).faults, f"bit {nth % 8} of byte {nth * (size - 1) // 199}"


def test_one_bit_changed_in_a_sheet_of_a_pdf_names_the_sheet_alone(loops, ask, tmp_path):
    original = made(ask())
    content = original.read_bytes()
    with pikepdf.open(original) as document:
        page = manifest_of(original)["sheets"][1]["first_page"]
        drawn = document.pages[page - 1].Contents.read_raw_bytes()
    place = content.index(drawn) + len(drawn) // 2
    assert verify_pack(flipped(original, place, tmp_path / "copy")).faults == [
        "The sheet of T-101 revision 1 was altered."
    ]


def test_one_bit_changed_in_a_sheet_of_a_zip_names_the_sheet_alone(loops, ask, tmp_path):
    original = made(ask(PackForm.ZIP))
    drawn = zipfile.ZipFile(original).read("sheets/0003-T-103.pdf")
    place = original.read_bytes().index(drawn) + len(drawn) // 2
    assert verify_pack(flipped(original, place, tmp_path / "copy")).faults == [
        "The sheet of T-103 revision 1 was altered."
    ]


@pytest.mark.parametrize("form", PackForm)
def test_a_manifest_altered_with_everything_else_in_place_is_named(loops, ask, form, tmp_path):
    """Written anew around the changed word, so that no checksum of the file itself tells."""
    original, copy = made(ask(form)), tmp_path / "copy"
    said = json.dumps(manifest_of(original) | {"asked_by": "somebody else"}).encode()
    if form == PackForm.PDF:
        with pikepdf.open(original) as document:
            document.attachments["manifest.json"] = pikepdf.AttachedFileSpec(document, said, filename="manifest.json")
            document.save(copy)
    else:
        with zipfile.ZipFile(original) as old, zipfile.ZipFile(copy, "w") as new:
            for name in old.namelist():
                new.writestr(name, said if name == "manifest.json" else old.read(name))
    assert verify_pack(copy).faults == ["manifest.json was altered."]


def test_a_page_taken_out_is_found(loops, ask, tmp_path):
    with pikepdf.open(made(ask())) as document:
        del document.pages[-1]
        document.save(tmp_path / "copy")
    assert "Something was added to it or taken out of it." in verify_pack(tmp_path / "copy").faults


def test_a_revision_altered_in_the_register_is_named(loops, ask):
    path = made(ask())
    Revision.objects.filter(loop__number="P-102").update(reason="Nothing happened")
    assert verify_pack(path).faults == [
        "The register's P-102 revision 1 is not the one that the pack shows: one of the two was altered."
    ]


@pytest.mark.parametrize(
    ("content", "complaint"),
    [(b"", "cannot be read"), (b"%PDF-1.7 and no more", "cannot be read"), (None, "No such file")],
)
def test_a_file_that_is_no_pack_ends_with_2(db, tmp_path, content, complaint):
    path = tmp_path / "file.pdf"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(CommandError, match=complaint) as ended:
        call_command("verify_pack", str(path))
    assert ended.value.returncode == 2


def test_a_pack_of_another_register_ends_with_2_and_an_altered_one_with_1(loops, ask, tmp_path, capsys):
    pack = ask(PackForm.ZIP)
    path = made(pack)
    with pytest.raises(CommandError) as ended:
        call_command("verify_pack", str(flipped(path, path.stat().st_size // 2, tmp_path / "copy")))
    assert ended.value.returncode == 1
    assert "was altered." in capsys.readouterr().err
    Pack.objects.all().delete()
    with pytest.raises(CommandError, match="made no pack") as ended:
        call_command("verify_pack", str(path))
    assert ended.value.returncode == 2


def test_only_what_changed_is_drawn_again(loops, ask, person, monkeypatch):
    drawn = []
    draw = Standing.sheet
    monkeypatch.setattr(Standing, "sheet", lambda self, look: drawn.append(self.loop.number) or draw(self, look))
    made(ask(title="first"))
    drawn.clear()
    loop = Loop.objects.get(number="T-101")
    edit_loop(loop, {"service": "Steep water"}, by=person("planner"), seen_revision=1, reason="Renamed")
    made(ask(title="second"))
    assert drawn == ["T-101"]


def test_a_pack_that_was_stopped_goes_on_where_it_was(loops, ask, monkeypatch):
    pack = ask(paper="Letter")
    work = make_pack(pack)
    while next(work)[0] < 2:
        pass
    work.close()
    drawn = []
    draw = Standing.sheet
    monkeypatch.setattr(Standing, "sheet", lambda self, look: drawn.append(self.loop.number) or draw(self, look))
    assert verify_pack(made(pack)).faults == []
    assert drawn == ["T-103"]


def test_a_sheet_damaged_in_the_cache_is_drawn_again(loops, ask):
    before = made(ask(PackForm.ZIP)).read_bytes()
    look = packs.Look("", "A4", "https://loops.example/")
    (standing, *_) = packs.standing_at([loops[0].pk], timezone.now())
    place = place_of(standing.facts_sha256(look))
    place.write_bytes(place.read_bytes()[:-1])
    after = manifest_of(made(ask(PackForm.ZIP)))
    assert after["sheets"][1]["sha256"] in {
        packs.sha256(zipfile.ZipFile(io.BytesIO(before)).read("sheets/0002-T-101.pdf"))
    }


def test_the_cache_keeps_to_its_size_and_lets_go_what_was_not_needed_for_longest(settings, tmp_path):
    settings.VAR_DIR, settings.SHEET_CACHE_MB = tmp_path, 1
    places = [place_of(str(nth)) for nth in range(5)]
    for nth, place in enumerate(places):
        keep(place, Kept(bytes(400_000), 1, "00" * 32, "00" * 32))
        if nth < 4:
            os.utime(place, (10_000 * nth, 10_000 * nth))
    assert kept(places[0]).pages == 1  # needed again, so it is not the oldest any more
    assert prune() == 3
    assert [place.exists() for place in places] == [True, False, False, False, True]


def test_a_pack_as_on_a_date_shows_what_stood_then(loops, ask, person, pdf_text):
    edit_loop(loops[0], {"service": "Steep water"}, by=person("planner"), seen_revision=1, reason="Renamed")
    later = factories.many_loops(1, by=person("planner"), first=9)
    Revision.objects.filter(loop__in=later).update(at=timezone.now())
    day = datetime(2024, 3, 31, 22, tzinfo=UTC)
    pack = ask(moment=day, as_on=day.date())
    said = pdf_text(made(pack).read_bytes())
    assert "As it stood on 2024-03-31" in said
    assert "Steep water" not in said
    pack.refresh_from_db()
    assert (pack.sheets, pack.left_out) == (3, ["T-109"])


def test_queries_do_not_grow_with_the_loops(loops, ask, person, django_assert_num_queries):
    made(ask())
    with django_assert_num_queries(10):
        made(ask())
    factories.many_loops(3, by=person("planner"), first=20)
    made(ask())
    with django_assert_num_queries(10):
        made(ask())


def test_sheets_drawn_on_all_cores_are_those_drawn_on_one(loops, person):
    factories.many_loops(9, by=person("planner"), first=30)
    standings = packs.standing_at(list(Loop.objects.values_list("pk", flat=True)), timezone.now())
    look = packs.Look("", "A3", "https://loops.example/")
    with drawing() as draw:
        together = {sheet.number: sheet.content for sheet in draw(standings, look)}
    assert len(together) == 12
    assert together["T-101"] == next(one for one in standings if one.loop.number == "T-101").sheet(look)
