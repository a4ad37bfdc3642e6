import io

import pikepdf
import pytest
from django.urls import reverse
from django.utils import timezone

from register.jobs import running
from register.jobs.packs import begin, cancel
from register.models import Job, Loop, Pack
from register.services.editing import change_settings, edit_loop
from register.services.recording import Refused
from register.sheets.packs import file_of, make_pack
from register.sheets.verifying import verify_pack
from tests import factories

ASK, LIST = reverse("packs:ask"), reverse("packs:list")
FILE = {"paper": "A4", "form": "one PDF"}


@pytest.fixture
def loops(person) -> list[Loop]:
    """T-101 and T-103 in the boiler house and the effluent, P-102 in the kiln."""
    return factories.many_loops(3, by=person("planner"))


def asked(client, **choice: object) -> list[str]:
    """The numbers of the loops of the pack that a choice asks for."""
    answer = client.post(ASK, FILE | choice)
    assert answer.status_code == 302, answer.context["form"].errors
    pack = Pack.objects.first()
    assert answer.headers["Location"] == reverse("packs:detail", args=[pack.pk])
    return list(Loop.objects.filter(pk__in=pack.loops).values_list("number", flat=True))


def test_loops_are_chosen_by_area_list_filter_finding_and_change(loops, person, signed_in):
    client, kiln = signed_in("auditor"), factories.area("Works / Kiln 1")
    assert asked(client) == ["P-102", "T-101", "T-103"]
    assert asked(client, area=kiln.pk) == ["P-102"]
    assert asked(client, numbers="T-103, T-101") == ["T-101", "T-103"]
    assert asked(client, q="Steam") == ["P-102"]
    edit_loop(loops[0], {"service": "Steep water"}, by=person("planner"), seen_revision=1, reason="Renamed")
    assert asked(client, changed_since=timezone.localdate().isoformat()) == ["T-101"]
    tag = loops[2].tags.get(name="TIC-103")
    change_settings(tag, {"set_point_high": 250}, by=person("planner"), seen_revision=1, reason="Hotter")
    loops[1].tags.filter(name="PT-102").update(calibration_interval_months=12, calibration_due_on="2026-03-01")
    none = client.post(ASK, FILE | {"due_by": "2026-02-28"}).content.decode()
    assert "No loop is chosen" in none
    assert asked(client, due_by="2026-03-01") == ["P-102"]
    assert asked(client, rule="set-point-limits-outside-range") == ["T-103"]


def test_the_title_says_what_was_chosen(loops, signed_in):
    asked(signed_in("auditor"), area=factories.area("Works / Kiln 1").pk, kind="control")
    assert Pack.objects.first().title == "Loop sheets: area Works / Kiln 1, kind control"


def test_the_filters_of_the_list_come_along(loops, signed_in):
    page = signed_in("planner").get(reverse("loops:list"), {"q": "Steam"}).content.decode()
    assert f'href="{ASK}?q=Steam"' in page
    assert 'value="Steam"' in signed_in("planner").get(ASK, {"q": "Steam"}).content.decode()


@pytest.mark.parametrize(
    ("choice", "complaint"),
    [
        ({"numbers": "T-101 X-9"}, "No loop has the number X-9."),
        ({"as_on": "2999-01-01"}, "This day is still to come."),
        ({"q": "nothing of the kind"}, "No loop is chosen by all of this together."),
        ({"changed_since": "soon"}, "Enter a valid date"),
        ({"paper": "B5"}, "B5 is not one of the available choices"),
    ],
)
def test_a_wrong_choice_is_told_and_kept(loops, signed_in, choice, complaint):
    page = signed_in("planner").post(ASK, FILE | choice)
    assert page.status_code == 200
    assert complaint in page.content.decode()
    assert next(iter(choice.values())) in page.content.decode() or "paper" in choice
    assert not Pack.objects.exists()


def test_a_pack_is_made_in_the_background_and_fetched(loops, signed_in):
    client = signed_in("auditor")
    asked(client, numbers="T-101")
    pack = Pack.objects.get()
    page = reverse("packs:detail", args=[pack.pk])
    assert "every 1s" in client.get(page).content.decode()
    running.run(pack.job_id)
    assert "holds 1 sheet" in client.get(page, headers={"HX-Request": "true"}).content.decode()
    answer = client.get(reverse("packs:download", args=[pack.pk]))
    assert answer.headers["Content-Disposition"].endswith(f'-pack-{pack.pk}.pdf"')
    with pikepdf.open(io.BytesIO(answer.getvalue())) as document:
        assert "manifest.json" in document.attachments


def test_a_cancelled_pack_goes_on(loops, person, signed_in):
    client = signed_in("planner")
    asked(client)
    pack = Pack.objects.get()
    assert client.post(reverse("packs:cancel", args=[pack.pk])).status_code == 302
    assert "Go on" in client.get(reverse("packs:detail", args=[pack.pk])).content.decode()
    first = pack.job
    client.post(reverse("packs:detail", args=[pack.pk]))
    pack.refresh_from_db()
    assert pack.job != first
    running.run(pack.job_id)
    assert Job.objects.get(pk=pack.job_id).message == "Done."


def test_beginning_again_after_a_restart_stops_what_may_still_run(loops, person, signed_in):
    asked(signed_in("planner"))
    pack = Pack.objects.get()
    stopped = pack.job
    begin(pack, by=person("planner"))
    stopped.refresh_from_db()
    assert (stopped.cancel_asked, pack.job.ended_at) == (True, None)


def test_a_pack_that_was_made_is_never_made_again(loops, person, signed_in):
    asked(signed_in("planner"), numbers="T-101")
    pack = Pack.objects.get()
    list(make_pack(pack))
    with pytest.raises(Refused):
        begin(pack, by=person("planner"))
    cancel(pack)


def test_the_list_takes_the_same_queries_for_any_number(loops, signed_in, django_assert_num_queries):
    """Two for the person, three for the packs, the plant's name."""
    client = signed_in("auditor")
    asked(client)
    with django_assert_num_queries(6):
        client.get(LIST)
    for number in ("T-101", "P-102"):
        asked(client, numbers=number)
    with django_assert_num_queries(6):
        client.get(LIST)


def test_a_planner_deletes_a_pack_s_file_and_a_copy_still_verifies(loops, person, signed_in, tmp_path):
    asked(signed_in("auditor"), numbers="T-101")
    pack = Pack.objects.get()
    list(make_pack(pack))
    copy = tmp_path / "copy.pdf"
    copy.write_bytes(file_of(pack).read_bytes())
    page = signed_in("auditor").get(LIST).content.decode()
    assert "Files of packs take" in page
    assert signed_in("auditor").post(reverse("packs:delete_file", args=[pack.pk])).status_code == 403
    assert file_of(pack).is_file()
    signed_in("planner").post(reverse("packs:delete_file", args=[pack.pk]))
    assert not file_of(pack).is_file()
    page = signed_in("auditor").get(reverse("packs:detail", args=[pack.pk])).content.decode()
    assert "by planner. A copy can still be verified" in " ".join(page.split())
    assert verify_pack(copy).faults == []
    assert "Files of packs take 0" in signed_in("auditor").get(LIST).content.decode()
