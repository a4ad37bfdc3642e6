import pytest
from django.urls import reverse

from register.models import Loop
from register.plant import sketch
from register.services.editing import edit_loop
from tests import factories

LIST = reverse("issues:list", args=["T-101"])


def address(part: str, *args: object) -> str:
    return reverse(f"issues:{part}", args=["T-101", *args])


@pytest.fixture
def loop(person) -> Loop:
    return factories.loop(sketch.temperature_loop("101"), by=person("planner"))


@pytest.fixture
def issued(loop, signed_in) -> Loop:
    """Issue 1 of revision 1: drafted by the technician, checked by the planner, approved by the administrator."""
    assert signed_in("technician").post(address("draft")).status_code == 302
    assert signed_in("planner").post(address("check")).status_code == 302
    assert signed_in("administrator").post(address("approve")).status_code == 302
    return loop


def changed(loop: Loop, person) -> None:
    loop.refresh_from_db()
    edit_loop(loop, {"service": "Steep water"}, by=person("planner"), seen_revision=loop.revision, reason="Renamed")


def test_the_issued_sheet_names_its_issue_and_the_three_people(issued, signed_in, pdf_text):
    said = " ".join(pdf_text(signed_in("auditor").get(address("pdf", 1)).content).split())
    assert "1, issue 1 of" in said
    assert "none: three people" in said
    for name in ("technician", "planner", "administrator"):
        assert name in said
    assert "Not issued" not in said


def test_a_sheet_of_a_loop_changed_since_its_issue_says_so_and_what_changed(issued, person, signed_in, pdf_text):
    changed(issued, person)
    said = " ".join(pdf_text(signed_in("auditor").get(reverse("sheets:pdf", args=["T-101"])).content).split())
    assert "Not issued: the loop was changed since issue 1 (revision 1," in said
    assert "Changed since issue 1" in said
    assert "T-101 service Hot water temperature Steep water" in said


def test_an_issued_sheet_stays_byte_for_byte_when_the_loop_changes(issued, person, signed_in):
    before = signed_in("auditor").get(address("pdf", 1)).content
    changed(issued, person)
    for part, role in (("draft", "technician"), ("check", "planner"), ("approve", "administrator")):
        signed_in(role).post(address(part))
    assert signed_in("auditor").get(address("pdf", 1)).content == before
    second = signed_in("auditor").get(address("pdf", 2))
    assert second.headers["Content-Disposition"] == 'inline; filename="T-101 issue 2.pdf"'
    page = signed_in("auditor").get(LIST).content.decode()
    assert "superseded" in page
    assert "approved, in force" in page


def test_the_page_says_what_changed_since_the_issue(issued, person, signed_in):
    assert "Issue 1 shows the loop as it stands." in signed_in("auditor").get(LIST).content.decode()
    changed(issued, person)
    page = signed_in("auditor").get(LIST).content.decode()
    assert "The loop was changed since issue 1" in page
    assert "service Hot water temperature → Steep water" in page


def test_whoever_did_a_part_is_asked_why_and_keeps_what_was_typed(loop, signed_in):
    client = signed_in("planner")
    client.post(address("draft"))
    page = client.post(address("check"))
    assert page.status_code == 200
    assert "say why you do both" in page.content.decode()
    client.post(address("check"), {"exception": "Alone on shift"})
    client.post(address("approve"), {"exception": "Nobody else until Monday"})
    assert "Nobody else until Monday" in client.get(LIST).content.decode()


def test_a_draft_overtaken_by_a_change_is_told_and_offered_again(loop, person, signed_in):
    signed_in("technician").post(address("draft"))
    changed(loop, person)
    page = signed_in("planner").post(address("check"))
    assert page.status_code == 200
    assert "Draft revision 2, and have that checked." in page.content.decode()
    assert "which was overtaken by a change" in page.content.decode()


def test_there_is_no_sheet_of_an_issue_that_was_not_approved(loop, signed_in):
    signed_in("technician").post(address("draft"))
    assert signed_in("auditor").get(address("pdf", 1)).status_code == 404


def test_a_technician_sees_but_is_not_offered_to_approve(loop, person, signed_in):
    signed_in("technician").post(address("draft"))
    signed_in("planner").post(address("check"))
    page = signed_in("technician").get(LIST).content.decode()
    assert "Your role does not approve sheets." in page
    assert '<form method="post" action="' + address("approve") not in page


def test_queries_do_not_grow_with_the_issues(issued, person, signed_in, django_assert_num_queries):
    """Two for the person, the loop, its issues, the plant's name."""
    client = signed_in("auditor")
    with django_assert_num_queries(5):
        client.get(LIST)
    changed(issued, person)
    for part, role in (("draft", "technician"), ("check", "planner"), ("approve", "administrator")):
        signed_in(role).post(address(part))
    with django_assert_num_queries(5):
        client.get(LIST)
